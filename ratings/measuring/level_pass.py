"""The pass at the recording's own rate: levels, spectrum, faults, orders, the coast-down."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from ratings.acoustics.faults.fault_meter import FaultMeter, RunFaults
from ratings.acoustics.level_meter import LevelMeter, Levels
from ratings.acoustics.narrow_band import NarrowBandSpectrum, SpectrumMeter
from ratings.acoustics.rolling.coast_down import CoastDownMap, CoastDownMeter
from ratings.acoustics.rolling.order_spectrum import (
    TURNS_PER_SPECTRUM,
    OrderSpectrum,
    OrderSpectrumMeter,
)
from ratings.acoustics.rolling.pattern_orders import highest_order_for
from ratings.acoustics.time_map import TimeMap, TimeMapMeter
from ratings.measuring.settings import MeasuringSettings
from ratings.measuring.side_by_side import Report
from ratings.recordings.opening import OpenRecording, open_recording
from ratings.recordings.read import clipping_magnitude
from ratings.study.constants import KM_H_PER_M_S, REFERENCE_PRESSURE_PA

BLOCK_FRAMES = 2**15
MOST_MAP_ROWS = 120


@dataclass(frozen=True, slots=True, eq=False)
class LevelPass:
    """What the pass found, by measured channel.

    Attributes
    ----------
    time_map
        None where there is a coast-down, whose map goes by speed.
    coast_down
        None unless the speed falls over the recording.
    orders
        None without tyre size, pitch count and speed.
    """

    levels: Levels
    spectrum: NarrowBandSpectrum
    time_map: TimeMap | None
    faults: RunFaults
    coast_down: CoastDownMap | None
    orders: OrderSpectrum | None


def scale_of(factors: Sequence[float | None], numbers: Sequence[int]) -> npt.NDArray[np.float64]:
    """Return what the samples of the chosen channels are multiplied by, shape (channels,).

    A channel that is not calibrated is scaled so that full scale counts as 20 uPa: a level re
    20 uPa is then the level re full scale.
    """
    chosen = (factors[number - 1] for number in numbers)
    return np.array([REFERENCE_PRESSURE_PA if factor is None else factor for factor in chosen])


def scaled_blocks(
    blocks: Iterator[npt.NDArray[np.float64]],
    numbers: Sequence[int],
    scale: npt.NDArray[np.float64],
    frames: int,
    report: Report,
) -> Iterator[tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]]:
    """Give each block's chosen channels as stored and in pascal, telling how far it is."""
    columns = [number - 1 for number in numbers]
    done = 0
    for block in blocks:
        stored = block[:, columns]
        yield stored, stored * scale
        done += len(block)
        report(min(1.0, done / frames))


def measure_levels(
    path: Path,
    settings: MeasuringSettings,
    factors: Sequence[float | None],
    numbers: Sequence[int],
    report: Report,
) -> LevelPass:
    """Run the pass over the chosen channels, counted from 1."""
    with open_recording(path) as recording:
        rate_hz, channels = recording.sample_rate_hz, len(numbers)
        levels = LevelMeter(rate_hz, channels, settings.bands.bands)
        spectrum = SpectrumMeter(rate_hz, channels)
        faults = FaultMeter(rate_hz, channels, _clipping(recording))
        coast_down = _coast_down_meter(rate_hz, channels, settings)
        time_map = None
        if coast_down is None:
            time_map = TimeMapMeter(rate_hz, channels, recording.duration_s / MOST_MAP_ROWS)
        orders = _order_meter(rate_hz, channels, settings)
        meters = [
            each for each in (levels, spectrum, time_map, coast_down, orders) if each is not None
        ]
        blocks = recording.blocks(BLOCK_FRAMES)
        scale = scale_of(factors, numbers)
        for stored, pressure_pa in scaled_blocks(blocks, numbers, scale, recording.frames, report):
            faults.feed(stored)
            for meter in meters:
                meter.feed(pressure_pa)
    return LevelPass(
        levels=levels.result(),
        spectrum=spectrum.result(),
        time_map=None if time_map is None else time_map.result(),
        faults=faults.result(),
        coast_down=None if coast_down is None else coast_down.result(),
        orders=None if orders is None else orders.result(),
    )


def _clipping(recording: OpenRecording) -> float | None:
    return clipping_magnitude(recording.encoding)


def _coast_down_meter(
    sample_rate_hz: int, channels: int, settings: MeasuringSettings
) -> CoastDownMeter | None:
    if settings.speed is None or not settings.is_coast_down:
        return None
    return CoastDownMeter(sample_rate_hz, channels, settings.speed, settings.bands.bands)


def _order_meter(
    sample_rate_hz: int, channels: int, settings: MeasuringSettings
) -> OrderSpectrumMeter | None:
    if settings.speed is None or settings.tyre is None or settings.pitches is None:
        return None
    circumference_m = settings.tyre.rolling_circumference_m
    start_s, stop_s = float(settings.speed.times_s[0]), float(settings.speed.times_s[-1])
    way_m = settings.speed.mean_km_h(start_s, stop_s) / KM_H_PER_M_S * (stop_s - start_s)
    if way_m < 2 * TURNS_PER_SPECTRUM * circumference_m:
        # Too few turns for one spectrum with room at its ends: no orders, all else is measured.
        return None
    highest = highest_order_for(settings.pitches)
    return OrderSpectrumMeter(sample_rate_hz, channels, settings.speed, circumference_m, highest)
