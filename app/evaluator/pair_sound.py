"""The two clips of a pair read from the disk and measured, with the gains they are played at."""

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.playback.level import Ceiling, Gain, level_at_ear_db_a, playback_gain
from app.playback.pair import LoadedPair
from ratings.acoustics.levels import ClipLevels, clip_levels
from ratings.errors import RatingsError, RecordingError, StudyError
from ratings.storage.listening_desk import ListeningDesk
from ratings.storage.progress import Progress, quiet
from ratings.study.listening import SIDES, BlindClip, Pair, Side


@dataclass(frozen=True, slots=True)
class PairSound:
    """A pair ready for the player, and what is to be said about its level.

    Attributes
    ----------
    levels_db_a
        A-weighted equivalent level at the louder ear of each side; None when it is not known. For
        the count of the day only: it would tell an evaluator which side is louder.
    """

    loaded: LoadedPair
    level_sentence: str
    levels_db_a: dict[Side, float | None]


class _Measured(NamedTuple):
    samples: NDArray[np.float32]
    levels: ClipLevels


class SessionSound:
    """The clips of a session, and how loud they are played: alike for all of them.

    Levels come from the samples on the disk, never from the database, which anybody can edit.

    Attributes
    ----------
    output_pa_per_full_scale
        Sound pressure in Pa at the ear of a sample of 1.0; None when it is not known.
    unreadable
        How many clips `measure` could not read.
    """

    def __init__(
        self,
        desk: ListeningDesk,
        output_pa_per_full_scale: float | None = None,
        ceiling: Ceiling | None = None,
    ) -> None:
        self.output_pa_per_full_scale = output_pa_per_full_scale
        self.unreadable = 0
        self._desk = desk
        self._ceiling = Ceiling() if ceiling is None else ceiling
        self._clips = {
            clip.clip_id: clip for pair in desk.pairs for clip in (pair.clip_a, pair.clip_b)
        }
        #: By content hash, which is compared with the file at every reading.
        self._levels: dict[str, ClipLevels] = {}

    @property
    def is_calibrated(self) -> bool:
        """Whether the recordings say their pascal; one clip that does not leaves all unknown."""
        return all(clip.pa_per_full_scale is not None for clip in self._clips.values())

    def measure(self, progress: Progress = quiet) -> None:
        """Read and measure all clips; takes seconds, so on another thread than the window's."""
        self.unreadable = 0
        for count, clip in enumerate(self._clips.values()):
            progress(count / len(self._clips), f"Clip {count + 1} of {len(self._clips)}")
            try:
                self._measured(clip)
            except RatingsError:
                self.unreadable += 1

    def read(self, pair: Pair) -> PairSound:
        """Read both clips of a pair.

        Raises
        ------
        StudyError
            When a clip is missing or not the one that was prepared.
        PlaybackError
            When a clip must not be played at its level.
        """
        measured = {side: self._measured(pair.clip(side)) for side in SIDES}
        gains = {side: self._gain(pair.clip(side), measured[side].levels) for side in SIDES}
        loaded = LoadedPair(
            a=measured["A"].samples,
            b=measured["B"].samples,
            sample_rate_hz=pair.clip_a.sample_rate_hz,
            gain_a=gains["A"].linear,
            gain_b=gains["B"].linear,
            levels_a=measured["A"].levels,
            levels_b=measured["B"].levels,
        )
        levels_db_a = {side: self.clip_level_db_a(pair.clip(side)) for side in SIDES}
        return PairSound(loaded, gains["A"].sentence, levels_db_a)

    def clip_level_db_a(self, clip: BlindClip) -> float | None:
        """Return the level at the louder ear at which a measured clip is played, if known."""
        levels = self._levels.get(clip.content_hash)
        if levels is None:
            return None
        return level_at_ear_db_a(self._pa(clip), self.output_pa_per_full_scale, levels)

    def level_db_a(self) -> float | None:
        """Return the mean level of the session, both sides heard alike.

        None as soon as the level of one clip is not known; minus infinity for silence.
        """
        energy, duration_s = 0.0, 0.0
        for pair in self._desk.pairs:
            for clip in (pair.clip_a, pair.clip_b):
                level_db_a = self.clip_level_db_a(clip)
                if level_db_a is None:
                    return None
                energy += float(10.0 ** (level_db_a / 10.0)) * clip.duration_s
                duration_s += clip.duration_s
        return 10.0 * math.log10(energy / duration_s) if energy > 0.0 else -math.inf

    def _pa(self, clip: BlindClip) -> float | None:
        # Half of a session at its true level and half at another would jump between them.
        return clip.pa_per_full_scale if self.is_calibrated else None

    def _gain(self, clip: BlindClip, levels: ClipLevels) -> Gain:
        return playback_gain(self._pa(clip), self.output_pa_per_full_scale, self._ceiling, levels)

    def _measured(self, clip: BlindClip) -> _Measured:
        samples = _samples(self._desk, clip)
        levels = self._levels.get(clip.content_hash)
        if levels is None:
            levels = clip_levels(samples.astype(np.float64), clip.sample_rate_hz)
            self._levels[clip.content_hash] = levels
        return _Measured(samples, levels)


def _samples(desk: ListeningDesk, clip: BlindClip) -> NDArray[np.float32]:
    found = _read(desk, clip)
    if found is None:
        # Missing, damaged or exchanged: its recording gives the same clip again, if it is there.
        desk.mend(clip)
        found = _read(desk, clip)
    if found is None:
        raise StudyError(
            "The sound of this pair cannot be read.",
            "Your scores are safe. Tell the person in charge of the study.",
        )
    return found


def _read(desk: ListeningDesk, clip: BlindClip) -> NDArray[np.float32] | None:
    from ratings.recordings.read import content_hash, read_sound

    path = desk.clip_file(clip)
    try:
        if content_hash(path) == clip.content_hash:
            return read_sound(path).samples.astype(np.float32)
    except RecordingError:
        return None
    return None
