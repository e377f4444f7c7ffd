"""Loudness, sharpness and roughness of the calibrated channels of a recording."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from ratings.acoustics.loudness.meter import Loudness, LoudnessMeter
from ratings.acoustics.roughness.meter import Roughness, RoughnessMeter
from ratings.measuring.level_pass import scale_of, scaled_blocks
from ratings.measuring.settings import MeasuringSettings
from ratings.measuring.side_by_side import Report
from ratings.recordings.opening import open_recording

RATE_HZ = 48_000


@dataclass(frozen=True, slots=True)
class HearingFigures:
    """What one channel would sound like, in the units of hearing."""

    n_sone: float
    n5_sone: float
    n10_sone: float
    n50_sone: float
    n90_sone: float
    nmax_sone: float
    sharpness_acum: float
    roughness_asper: float


@dataclass(frozen=True, slots=True, eq=False)
class HearingMeasurement:
    """Loudness and roughness of some channels.

    Attributes
    ----------
    numbers
        Their numbers in the recording, from 1, in the order of the arrays.
    """

    numbers: tuple[int, ...]
    loudness: Loudness
    roughness: Roughness

    def of_channel(self, number: int) -> HearingFigures | None:
        """Return the figures of a channel; None when it is not calibrated."""
        if number not in self.numbers:
            return None
        column = self.numbers.index(number)
        return HearingFigures(
            n_sone=float(self.loudness.n_sone[column]),
            n5_sone=float(self.loudness.n5_sone[column]),
            n10_sone=float(self.loudness.n10_sone[column]),
            n50_sone=float(self.loudness.n50_sone[column]),
            n90_sone=float(self.loudness.n90_sone[column]),
            nmax_sone=float(self.loudness.nmax_sone[column]),
            sharpness_acum=float(self.loudness.sharpness_acum[column]),
            roughness_asper=float(self.roughness.mean_asper[column]),
        )


def measure_hearing(
    path: Path,
    settings: MeasuringSettings,
    factors: Sequence[float | None],
    numbers: Sequence[int],
    report: Report,
) -> HearingMeasurement:
    """Run the pass over the chosen channels, counted from 1; all of them calibrated."""
    loudness = LoudnessMeter(RATE_HZ, len(numbers), settings.field)
    roughness = RoughnessMeter(RATE_HZ, len(numbers))
    with open_recording(path) as recording:
        blocks = recording.blocks_at(RATE_HZ)
        frames = round(recording.frames * RATE_HZ / recording.sample_rate_hz)
        scale = scale_of(factors, numbers)
        for _, pressure_pa in scaled_blocks(blocks, numbers, scale, frames, report):
            loudness.feed(pressure_pa)
            roughness.feed(pressure_pa)
    return HearingMeasurement(tuple(numbers), loudness.result(), roughness.result())
