"""A recording measured: two passes over the file, side by side, in memory that does not grow."""

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import NamedTuple, cast

from ratings.acoustics.rolling.cavity_prediction import CavityPrediction, predicted_cavity_hz
from ratings.acoustics.rolling.pattern_orders import PitchOrder, pitch_orders
from ratings.acoustics.tones.prominent import prominent_tones
from ratings.errors import MeasurementError
from ratings.measuring.cavity import cavity_search
from ratings.measuring.coasting import coast_down_findings
from ratings.measuring.hearing import HearingMeasurement, measure_hearing
from ratings.measuring.level_pass import LevelPass, measure_levels
from ratings.measuring.measurement import Measurement
from ratings.measuring.remarks import remarks_of
from ratings.measuring.settings import MeasuringSettings
from ratings.measuring.side_by_side import Report, side_by_side
from ratings.recordings.opening import open_recording, shown_name
from ratings.recordings.refusals import refuse_changed, state_of
from ratings.study.calibration_factor import refuse_implausible_factor
from ratings.study.progress import Progress, quiet

SHORTEST_S = 0.25
"""Roughness needs a frame of 0.2 s."""


def measure(
    path: Path,
    settings: MeasuringSettings,
    pa_per_full_scale: Sequence[float | None] | None = None,
    numbers: Sequence[int] | None = None,
    progress: Progress = quiet,
    threads: int = 2,
) -> Measurement:
    """Measure a recording.

    Parameters
    ----------
    pa_per_full_scale
        Pascal of a stored 1.0, one for each channel of the file, None where it is not known;
        None takes what the file itself says. Channels without it are measured relative to full
        scale, and have no loudness, sharpness or roughness.
    numbers
        The channels to measure, counted from 1; None measures all.
    progress
        Called in the calling thread, about ten times a second.
    threads
        1 keeps to one processor, for many files at once.

    Raises
    ------
    RecordingError
        When the file cannot be used, or another program writes to it meanwhile; nothing is
        repaired. When the speed is none of this recording.
    MeasurementError
        When there is nothing to measure, or no such channel.
    Cancelled
        When `progress` asked for it.
    """
    with open_recording(path) as recording:
        known = recording.pa_per_full_scale if pa_per_full_scale is None else pa_per_full_scale
        factors = _checked(known, recording.channels)
        chosen = _chosen(numbers, recording.channels)
        sample_rate_hz, duration_s = recording.sample_rate_hz, recording.duration_s
        state = state_of(path)
    if duration_s < SHORTEST_S:
        raise MeasurementError(
            f"{shown_name(path)} lasts {duration_s:.3f} s, too short to be measured.",
            f"Choose a recording of {SHORTEST_S:g} s at least; 8 s or more give reliable figures.",
        )
    settings = settings.during(path, duration_s)
    calibrated = tuple(number for number in chosen if factors[number - 1] is not None)
    passes: list[Callable[[Report], object]] = [
        partial(measure_levels, path, settings, factors, chosen)
    ]
    if calibrated:
        passes.append(partial(measure_hearing, path, settings, factors, calibrated))
    results = side_by_side(passes, f"Measuring {shown_name(path)[1:-1]}", progress, threads)
    refuse_changed(path, state)
    hearing = cast(HearingMeasurement, results[1]) if calibrated else None
    heading = _Heading(shown_name(path)[1:-1], sample_rate_hz, duration_s, chosen)
    return _measurement(heading, settings, cast(LevelPass, results[0]), hearing)


class _Heading(NamedTuple):
    name: str
    sample_rate_hz: int
    duration_s: float
    numbers: tuple[int, ...]


def _measurement(
    heading: _Heading,
    settings: MeasuringSettings,
    found: LevelPass,
    hearing: HearingMeasurement | None,
) -> Measurement:
    calibrated = () if hearing is None else hearing.numbers
    is_level_true = tuple(number in calibrated for number in heading.numbers)
    prediction = _prediction(settings)
    searches = [
        cavity_search(found.spectrum, prediction, [column])
        for column in range(len(heading.numbers))
    ]
    orders: tuple[PitchOrder, ...] = ()
    if found.orders is not None and settings.pitches is not None:
        orders = pitch_orders(found.orders, settings.pitches)
    return Measurement(
        name=heading.name,
        sample_rate_hz=heading.sample_rate_hz,
        duration_s=heading.duration_s,
        settings=settings,
        numbers=heading.numbers,
        is_level_true=is_level_true,
        clipped_samples=tuple(channel.full_scale_samples for channel in found.faults.channels),
        levels=found.levels,
        spectrum=found.spectrum,
        time_map=found.time_map,
        hearing=hearing,
        tones=prominent_tones(found.spectrum.power, found.spectrum.resolution_hz),
        prediction=prediction,
        cavity_lines=tuple(each.line for each in searches),
        cavity_passed_over=tuple(each.passed_over for each in searches),
        pitch_orders=orders,
        coast_down=found.coast_down,
        coasting=()
        if found.coast_down is None
        else coast_down_findings(found.coast_down, settings.tyre),
        remarks=remarks_of(
            found.faults,
            heading.numbers,
            is_level_true,
            [float(level) for level in found.levels.leq_a_db],
            heading.duration_s,
            settings,
            orders,
            [each.passed_over for each in searches],
        ),
    )


def _chosen(numbers: Sequence[int] | None, channels: int) -> tuple[int, ...]:
    chosen = tuple(range(1, channels + 1)) if numbers is None else tuple(numbers)
    for number in chosen:
        if not 1 <= number <= channels:
            raise MeasurementError(
                f"There is no channel {number}: the recording has {channels}.",
                "Channels are counted from 1.",
            )
    if not chosen or len(set(chosen)) < len(chosen):
        raise MeasurementError(
            "No channel was chosen, or one of them twice.", "Choose each channel once."
        )
    return chosen


def _checked(factors: Sequence[float | None], channels: int) -> tuple[float | None, ...]:
    if len(factors) != channels:
        raise MeasurementError(
            f"{len(factors)} calibrations were given for {channels} channels.",
            "Give one for each channel.",
        )
    for factor in factors:
        if factor is not None:
            refuse_implausible_factor(factor)
    return tuple(factors)


def _prediction(settings: MeasuringSettings) -> CavityPrediction | None:
    if settings.tyre is None:
        return None
    return predicted_cavity_hz(settings.tyre, settings.air_c, settings.steady_speed_km_h)
