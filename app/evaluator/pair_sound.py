"""The two clips of a pair read from the disk, checked, with the gains they are played at."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.playback.level import Ceiling, ClipLevels, Gain, level_at_ear_db_a, playback_gain
from app.playback.pair import LoadedPair
from ratings.errors import RecordingError, StudyError
from ratings.storage.listening_desk import ListeningDesk
from ratings.study.listening import SIDES, BlindClip, Pair


@dataclass(frozen=True, slots=True)
class PairSound:
    """A pair ready for the player, and what is to be said about its level.

    Attributes
    ----------
    level_a_db_a, level_b_db_a
        A-weighted equivalent level at the louder ear; None when it is not known. For the count of
        the day only: it would tell an evaluator which side is louder.
    """

    loaded: LoadedPair
    level_sentence: str
    is_level_true: bool
    level_a_db_a: float | None
    level_b_db_a: float | None


def read_pair(
    desk: ListeningDesk, pair: Pair, output_pa_per_full_scale: float | None, ceiling: Ceiling
) -> PairSound:
    """Read both clips of a pair.

    Raises
    ------
    StudyError
        When a clip is missing or not the one that was prepared.
    PlaybackError
        When a clip must not be played at its level.
    """
    gains = [
        _gain(pair.clip_a, output_pa_per_full_scale, ceiling),
        _gain(pair.clip_b, output_pa_per_full_scale, ceiling),
    ]
    loaded = LoadedPair(
        a=_samples(desk, pair.clip_a),
        b=_samples(desk, pair.clip_b),
        sample_rate_hz=pair.clip_a.sample_rate_hz,
        gain_a=gains[0].linear,
        gain_b=gains[1].linear,
    )
    is_level_true = all(gain.level_true for gain in gains)
    return PairSound(
        loaded,
        gains[0].sentence,
        is_level_true,
        clip_level_db_a(pair.clip_a, output_pa_per_full_scale),
        clip_level_db_a(pair.clip_b, output_pa_per_full_scale),
    )


def clip_level_db_a(clip: BlindClip, output_pa_per_full_scale: float | None) -> float | None:
    """Return the level at the louder ear at which a clip is played; None when it is not known."""
    return level_at_ear_db_a(clip.pa_per_full_scale, output_pa_per_full_scale, _levels(clip))


def session_level_db_a(
    pairs: Sequence[Pair], output_pa_per_full_scale: float | None
) -> float | None:
    """Return the mean level of a session in which both sides are heard alike.

    None as soon as the level of one clip is not known; minus infinity for silence.
    """
    energy, duration_s = 0.0, 0.0
    for clip in (pair.clip(side) for pair in pairs for side in SIDES):
        level_db_a = clip_level_db_a(clip, output_pa_per_full_scale)
        if level_db_a is None:
            return None
        energy += float(10.0 ** (level_db_a / 10.0)) * clip.duration_s
        duration_s += clip.duration_s
    return 10.0 * math.log10(energy / duration_s) if energy > 0.0 else -math.inf


def _gain(clip: BlindClip, output_pa_per_full_scale: float | None, ceiling: Ceiling) -> Gain:
    pa_per_full_scale = clip.pa_per_full_scale
    return playback_gain(pa_per_full_scale, output_pa_per_full_scale, ceiling, _levels(clip))


def _levels(clip: BlindClip) -> ClipLevels:
    return ClipLevels(
        clip.peak_full_scale, clip.leq_a_db_re_full_scale, clip.fast_max_a_db_re_full_scale
    )


def _samples(
    desk: ListeningDesk, clip: BlindClip
) -> np.ndarray[tuple[int, int], np.dtype[np.float32]]:
    from ratings.storage.mending import restore_clip

    found = _read(desk, clip)
    if found is None:
        # Missing, damaged or exchanged: its recording gives the same clip again, if it is there.
        restore_clip(desk.study, clip.code)
        found = _read(desk, clip)
    if found is None:
        raise StudyError(
            "The sound of this pair cannot be read.",
            "Your scores are safe. Tell the person in charge of the study.",
        )
    return found


def _read(
    desk: ListeningDesk, clip: BlindClip
) -> np.ndarray[tuple[int, int], np.dtype[np.float32]] | None:
    from ratings.recordings.read import content_hash, read_sound

    path = desk.clip_file(clip)
    try:
        if content_hash(path) == clip.content_hash:
            return read_sound(path).samples.astype(np.float32)
    except RecordingError:
        return None
    return None
