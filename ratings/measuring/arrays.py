"""The spectra and courses of a measurement, as arrays to keep and to draw."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from ratings.acoustics.level_meter import TIME_STEP_S as LEVEL_STEP_S
from ratings.acoustics.levels import decibels
from ratings.acoustics.loudness.meter import TIME_STEP_S as LOUDNESS_STEP_S
from ratings.measuring.measurement import Measurement
from ratings.study.constants import REFERENCE_PRESSURE_PA
from ratings.study.figures import EARS

HIGHEST_HZ = 12_500.0
_LOUDNESS_STEP = 50
"""Values of the loudness over time, 0.1 s in all, of which the highest is kept."""

Arrays = dict[str, npt.NDArray[np.generic]]


def arrays_of(measurement: Measurement, ear_numbers: Sequence[int] = ()) -> Arrays:
    """Return what pages draw, by name.

    Returns
    -------
    dict
        ``channels`` (channels,) numbers as text, last ``ears`` where ears were measured, whose
        spectrum and map are the mean of powers;
        ``spectrum_hz`` (lines,), ``spectrum_db`` (channels, lines) power in each line;
        ``course_s`` (times,), ``level_a_db`` (channels, times);
        ``loudness_s``, ``loudness_sone`` (channels, times), NaN for uncalibrated channels;
        ``map_hz`` (lines,), ``map_db`` (channels, rows, lines) over ``map_s`` (rows,), or over
        ``map_speed_km_h`` for a coast-down;
        for that also ``bins_km_h`` (bins,), ``band_keys``, ``band_against_speed_db`` and
        ``band_a_against_speed_db`` (channels, bands, bins), ``leq_a_against_speed_db``;
        ``shift_channel``, ``shift_kind``, ``shift_band`` (shifts,) what happens at one speed, the
        band empty for a tone, ``shift_km_h``, ``shift_hz``, ``shift_db``, see `TonalShift`;
        ``ridge_channel``, ``ridge_order``,
        ``ridge_hz``, ``ridge_turns``, ``ridge_low_km_h``, ``ridge_high_km_h``,
        ``ridge_height_db`` (ridges,) with NaN for the one of order and hertz that it has not;
        ``turn_m`` the way of one turn of the wheel;
        ``cavity_predicted_hz`` lower and upper predicted line, where a tyre size is known.
        Levels are in dB re 20 uPa, or re full scale for uncalibrated channels.
    """
    ears = [measurement.numbers.index(n) for n in ear_numbers if n in measurement.numbers]
    names = [str(number) for number in measurement.numbers] + [EARS] * bool(ears)
    shown = measurement.spectrum.frequency_hz <= HIGHEST_HZ
    power = _with_mean(measurement.spectrum.power[:, shown], ears)
    course = _with_mean(10 ** (measurement.levels.fast_a_db.T / 10), ears)
    arrays: Arrays = {
        "channels": np.array(names),
        "spectrum_hz": measurement.spectrum.frequency_hz[shown].astype(np.float32),
        "spectrum_db": _levels_db(power / REFERENCE_PRESSURE_PA**2),
        "course_s": (np.arange(1, course.shape[1] + 1) * LEVEL_STEP_S).astype(np.float32),
        "level_a_db": _levels_db(course),
    }
    arrays.update(_loudness(measurement, ears))
    arrays.update(_coast_down(measurement, ears))
    if measurement.prediction is not None:
        arrays["cavity_predicted_hz"] = np.array(measurement.prediction.lines_hz)
    return arrays


def _loudness(measurement: Measurement, ears: Sequence[int]) -> Arrays:
    hearing = measurement.hearing
    if hearing is None:
        return {}
    course = hearing.loudness.time_history_sone
    times = -(-len(course) // _LOUDNESS_STEP)
    starts = np.arange(times) * _LOUDNESS_STEP
    highest = np.full((len(measurement.numbers), times), np.nan)
    columns = [measurement.numbers.index(number) for number in hearing.numbers]
    highest[columns] = np.maximum.reduceat(course, starts, axis=0).T
    return {
        "loudness_s": (starts * LOUDNESS_STEP_S).astype(np.float32),
        "loudness_sone": _with_mean(highest, ears).astype(np.float32),
    }


def _coast_down(measurement: Measurement, ears: Sequence[int]) -> Arrays:
    coast_down = measurement.coast_down
    if coast_down is None:
        return _time_map(measurement, ears)
    steps = coast_down.binned

    def mean_db(levels_db: npt.NDArray[np.float64]) -> npt.NDArray[np.float32]:
        return _levels_db(_with_mean(10 ** (levels_db / 10), ears))

    return {
        "map_hz": coast_down.frequency_hz.astype(np.float32),
        "map_speed_km_h": coast_down.speed_km_h.astype(np.float32),
        "map_db": mean_db(coast_down.level_db),
        "bins_km_h": steps.speed_km_h.astype(np.float32),
        "band_keys": np.array([band.key for band in coast_down.bands]),
        "band_against_speed_db": mean_db(steps.band_db),
        "band_a_against_speed_db": mean_db(steps.band_a_db),
        "leq_a_against_speed_db": mean_db(steps.leq_a_db),
        **_shifts(measurement),
        **_ridges(measurement),
    }


def _time_map(measurement: Measurement, ears: Sequence[int]) -> Arrays:
    found = measurement.time_map
    if found is None or not found.time_s.size:
        return {}
    power = _with_mean(found.power, ears)
    return {
        "map_hz": found.frequency_hz.astype(np.float32),
        "map_s": found.time_s.astype(np.float32),
        "map_db": _levels_db(power / REFERENCE_PRESSURE_PA**2),
    }


def _shifts(measurement: Measurement) -> Arrays:
    found = [
        (str(number), shift)
        for number, findings in zip(measurement.numbers, measurement.coasting, strict=True)
        for shift in findings.shifts
    ]
    return {
        "shift_channel": np.array([channel for channel, _ in found], dtype="U8"),
        "shift_kind": np.array([shift.kind for _, shift in found], dtype="U12"),
        "shift_band": np.array([shift.band or "" for _, shift in found], dtype="U64"),
        "shift_km_h": np.array([shift.speed_km_h for _, shift in found]),
        "shift_hz": np.array([shift.frequency_hz for _, shift in found]),
        "shift_db": np.array([shift.change_db for _, shift in found]),
    }


def _ridges(measurement: Measurement) -> Arrays:
    tyre = measurement.settings.tyre
    if tyre is None:
        return {}
    found = [
        (str(number), ridge)
        for number, findings in zip(measurement.numbers, measurement.coasting, strict=True)
        for ridge in findings.ridges
    ]
    ridges = [ridge for _, ridge in found]
    return {
        "ridge_channel": np.array([channel for channel, _ in found], dtype="U8"),
        "ridge_order": np.array([_or_nan(ridge.order) for ridge in ridges]),
        "ridge_hz": np.array([_or_nan(ridge.frequency_hz) for ridge in ridges]),
        "ridge_turns": np.array([float(ridge.turns) for ridge in ridges]),
        "ridge_low_km_h": np.array([ridge.low_km_h for ridge in ridges]),
        "ridge_high_km_h": np.array([ridge.high_km_h for ridge in ridges]),
        "ridge_height_db": np.array([ridge.prominence_db for ridge in ridges]),
        "turn_m": np.array(tyre.rolling_circumference_m),
    }


def _or_nan(value: float | None) -> float:
    return np.nan if value is None else value


def _with_mean(values: npt.NDArray[np.float64], ears: Sequence[int]) -> npt.NDArray[np.float64]:
    if not ears:
        return values
    return np.concatenate([values, values[list(ears)].mean(axis=0, keepdims=True)])


def _levels_db(power: npt.NDArray[np.float64]) -> npt.NDArray[np.float32]:
    return decibels(power).astype(np.float32)
