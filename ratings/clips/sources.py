"""Recordings that clips are cut from, and what is known of each: ears, calibration, speed."""

from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from ratings.clips.cutting import ear_channels
from ratings.errors import RecordingError
from ratings.recordings.opening import shown_name
from ratings.recordings.read import SoundFacts, describe
from ratings.recordings.refusals import told_by_its_own_name
from ratings.recordings.speed.record import SpeedRecord
from ratings.recordings.speed.sources import speed_record_over
from ratings.study.runs import SpeedFile, SpeedSource

COMMON_RATE_HZ = 48_000
"""Clips are cut at the rate that their recordings share; where they differ, at this one."""


@dataclass(frozen=True, slots=True)
class ClipSource:
    """A recording that clips are cut from; see `clip_source`.

    Attributes
    ----------
    path
        The file as whoever chose it knows it; refusals name it so.
    facts
        What was found in it.
    ears
        Channels for the left and the right ear, from 0.
    pa_per_full_scale
        Sound pressure in pascal of a sample of 1.0; None when it is not known.
    speed
        Where the speed over the recording comes from; None when it is not known.
    copy, speed_copy
        Copies that are read in place of `path` and of the file of the speed; None without.
    speed_hash
        SHA-256 of that file, where there is a copy of it.
    """

    path: Path
    facts: SoundFacts
    ears: tuple[int, int]
    pa_per_full_scale: float | None = None
    speed: SpeedSource | None = None
    copy: Path | None = None
    speed_copy: Path | None = None
    speed_hash: str | None = None

    @property
    def file(self) -> Path:
        """The file that is read."""
        return self.copy or self.path

    @property
    def peak_full_scale(self) -> float:
        """Largest magnitude that an ear would hear anywhere in the recording."""
        return max(self.facts.by_channel[ear].peak_full_scale for ear in self.ears)

    @property
    def lost_s(self) -> list[tuple[float, float]]:
        """Start and end, in seconds, of each stretch that an ear of the recording has lost."""
        return self.facts.lost_s(self.ears)

    def speed_record(self) -> SpeedRecord:
        """Read the speed over the recording.

        Raises
        ------
        RecordingError
            When it is not known or cannot be read.
        """
        speed = self.speed
        if speed is None:
            raise RecordingError(
                f"The speed over {shown_name(self.path)} is not known.",
                "Give its speed, or choose a window by time.",
            )
        with self.told_by_its_own_name():
            if isinstance(speed, SpeedFile) and self.speed_copy is not None:
                speed = replace(speed, path=self.speed_copy)
            return speed_record_over(speed, self.file, self.facts.duration_s)

    @contextmanager
    def told_by_its_own_name(self) -> Iterator[None]:
        """Let refusals of the copies name the files that whoever chose them knows."""
        with ExitStack() as telling:
            telling.enter_context(told_by_its_own_name(self.file, self.path))
            if isinstance(self.speed, SpeedFile) and self.speed_copy is not None:
                telling.enter_context(told_by_its_own_name(self.speed_copy, self.speed.path))
            yield


def clip_source(
    path: Path,
    left_channel: int | None = None,
    right_channel: int | None = None,
    pa_per_full_scale: float | None = None,
    speed: SpeedSource | None = None,
    facts: SoundFacts | None = None,
) -> ClipSource:
    """Say what is known of a recording; it is read once from start to end.

    Parameters
    ----------
    left_channel, right_channel
        Channels for the two ears, from 0; None lets a mono file play on both ears and a file of
        several channels play its first two.
    pa_per_full_scale
        Sound pressure in pascal of a sample of 1.0; None lets a file that says it by itself speak,
        and any other be not calibrated.
    speed
        None when it is not known.
    facts
        Of the recording, where they are known already.

    Raises
    ------
    RecordingError
        When the file cannot be used, has no such channel, or says different pascal for the ears.
    """
    facts = describe(path) if facts is None else facts
    left = 0 if left_channel is None else left_channel
    ears = ear_channels(path, facts.channels, left, 1 if right_channel is None else right_channel)
    if pa_per_full_scale is None:
        pa_per_full_scale = _own_factor(path, facts, ears)
    return ClipSource(path, facts, ears, pa_per_full_scale, speed)


def common_rate_hz(sources: Sequence[ClipSource]) -> int:
    """Give the rate at which the clips of recordings are cut."""
    rates_hz = {source.facts.sample_rate_hz for source in sources}
    return rates_hz.pop() if len(rates_hz) == 1 else COMMON_RATE_HZ


def _own_factor(path: Path, facts: SoundFacts, ears: tuple[int, int]) -> float | None:
    left, right = (facts.pa_per_full_scale[ear] for ear in ears)
    if left != right:
        raise RecordingError(
            f"{shown_name(path)} gives channel {ears[0] + 1} and channel {ears[1] + 1} in "
            "different units, and a clip has one scale for both ears.",
            "Choose other channels for the ears, or export both in the same unit.",
        )
    return left
