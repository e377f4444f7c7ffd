"""The two clips of a pair read from the disk, checked, with the gains they are played at."""

from dataclasses import dataclass

import numpy as np

from app.playback.level import Ceiling, ClipLevels, Gain, playback_gain
from app.playback.pair import LoadedPair
from ratings.errors import RecordingError, StudyError
from ratings.storage.listening_desk import ListeningDesk
from ratings.study.listening import BlindClip, Pair


@dataclass(frozen=True, slots=True)
class PairSound:
    """A pair ready for the player, and what is to be said about its level."""

    loaded: LoadedPair
    level_sentence: str
    is_level_true: bool


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
    return PairSound(loaded, gains[0].sentence, is_level_true)


def _gain(clip: BlindClip, output_pa_per_full_scale: float | None, ceiling: Ceiling) -> Gain:
    levels = ClipLevels(
        clip.peak_full_scale, clip.leq_a_db_re_full_scale, clip.fast_max_a_db_re_full_scale
    )
    return playback_gain(clip.pa_per_full_scale, output_pa_per_full_scale, ceiling, levels)


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
