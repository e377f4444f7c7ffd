"""The pass at 48 kHz, for which the methods of hearing are written: loudness and roughness."""

from collections.abc import Sequence
from pathlib import Path

from ratings.acoustics.loudness.meter import LoudnessMeter
from ratings.acoustics.roughness.meter import RoughnessMeter
from ratings.measuring.hearing import HearingMeasurement
from ratings.measuring.level_pass import scale_of, scaled_blocks
from ratings.measuring.settings import MeasuringSettings
from ratings.measuring.side_by_side import Report
from ratings.recordings.opening import open_recording

RATE_HZ = 48_000


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
