"""The two clips of a pair read from the disk and measured, with the gains they are played at."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.playback.level import (
    START_BELOW_DB,
    Ceiling,
    Gain,
    level_at_ear_db_a,
    level_at_ear_offset_db,
    lowering_db,
    playback_gain,
    sides_are_far_apart,
)
from app.playback.pair import LoadedPair
from ratings.acoustics.levels import ClipLevels, clip_levels
from ratings.errors import PlaybackError, RatingsError, RecordingError, StudyError
from ratings.storage.listening_desk import ListeningDesk
from ratings.study.listening import SIDES, BlindClip, Pair, PlayedLevel, Side
from ratings.study.progress import Progress, quiet


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
    lowered_db, attenuation_db
        How far all clips are played below the recorded level; or, as long as that is not known,
        below the output's full level.
    unreadable
        How many pairs have a clip that `measure` could not read.
    """

    def __init__(
        self,
        desk: ListeningDesk,
        output_pa_per_full_scale: float | None = None,
        ceiling: Ceiling | None = None,
    ) -> None:
        self.output_pa_per_full_scale = output_pa_per_full_scale
        self.lowered_db = 0.0
        self.attenuation_db = START_BELOW_DB
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

    @property
    def is_at_known_level(self) -> bool:
        """Whether clips are played at their recorded level, or a stated step below it."""
        return self.is_calibrated and self.output_pa_per_full_scale is not None

    @property
    def loudest_db_a_re_full_scale(self) -> float:
        """A-weighted equivalent level of the loudest measured clip, before gain."""
        levels = (levels.leq_a_db_re_full_scale for levels in self._levels.values())
        return max(levels, default=-math.inf)

    def lowering_db(self) -> float:
        """Return how far below the recorded level all measured clips can be played alike."""
        output_pa = self.output_pa_per_full_scale
        if output_pa is None or not self.is_calibrated:
            return 0.0
        return max(
            (
                lowering_db(clip.pa_per_full_scale or 0.0, output_pa, self._ceiling, levels)
                for clip, levels in self._known()
            ),
            default=0.0,
        )

    def too_loud(self) -> int:
        """Return how many measured clips would be refused as loud as things are set."""
        count = 0
        for clip, levels in self._known():
            try:
                self._gain(clip, levels)
            except PlaybackError:
                count += 1
        return count

    def far_apart(self) -> int:
        """Return how many pairs have sides too far apart to be played."""
        known = {clip.clip_id: (clip, levels) for clip, levels in self._known()}
        sides = [
            [known[clip.clip_id] for clip in (pair.clip_a, pair.clip_b)]
            for pair in self._desk.pairs
            if pair.clip_a.clip_id in known and pair.clip_b.clip_id in known
        ]
        return sum(
            sides_are_far_apart((self._pa(a) or 1.0, levels_a), (self._pa(b) or 1.0, levels_b))
            for (a, levels_a), (b, levels_b) in sides
        )

    def measure(self, progress: Progress = quiet) -> None:
        """Read and measure all clips; takes seconds, so on another thread than the window's."""
        unread = set()
        for count, clip in enumerate(self._clips.values()):
            progress(count / len(self._clips), f"Clip {count + 1} of {len(self._clips)}")
            try:
                self._measured(clip)
            except RatingsError:
                unread.add(clip.clip_id)
        self.unreadable = sum(
            not unread.isdisjoint((pair.clip_a.clip_id, pair.clip_b.clip_id))
            for pair in self._desk.pairs
        )

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
        return level_at_ear_db_a(
            self._pa(clip), self.output_pa_per_full_scale, levels, self._below_db
        )

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

    @property
    def level(self) -> PlayedLevel:
        """How loud all clips are played now."""
        output_pa = self.output_pa_per_full_scale if self.is_calibrated else None
        # Of a sine, whose rms is 3 dB below its peak.
        output_db = None if output_pa is None else level_at_ear_offset_db(output_pa / math.sqrt(2))
        return PlayedLevel(self._below_db, output_db)

    @property
    def _below_db(self) -> float:
        return self.lowered_db if self.is_at_known_level else self.attenuation_db

    def _known(self) -> Iterator[tuple[BlindClip, ClipLevels]]:
        for clip in self._clips.values():
            levels = self._levels.get(clip.content_hash)
            if levels is not None:
                yield clip, levels

    def _pa(self, clip: BlindClip) -> float | None:
        # Half of a session at its true level and half at another would jump between them.
        return clip.pa_per_full_scale if self.is_calibrated else None

    def _gain(self, clip: BlindClip, levels: ClipLevels) -> Gain:
        return playback_gain(
            self._pa(clip), self.output_pa_per_full_scale, self._ceiling, levels, self._below_db
        )

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
