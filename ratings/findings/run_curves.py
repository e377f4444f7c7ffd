"""Curves of measured runs: read, averaged over runs, and made fit to be drawn."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from ratings.acoustics.third_octaves import THIRD_OCTAVES
from ratings.findings.measured_figures import FigureFinding, is_level_true
from ratings.storage.recording_desk import RecordingDesk
from ratings.study.runs import Run

Floats = npt.NDArray[np.float64]

OVERALL = "leq_a"
"""Stands among the bands for the A-weighted level of everything."""

LOWEST_HZ, HIGHEST_HZ = 20.0, 12_500.0
_CENTRES_HZ = {band.name: band.centre_hz for band in THIRD_OCTAVES}
_MAP_COLUMNS = 640
#: Below the strongest part of a map nothing can be heard; common practice, no source.
_MAP_DEPTH_DB = 60.0


@dataclass(frozen=True, slots=True, eq=False)
class RunCurves:
    """A run with the arrays kept of it, and the pitches of its tread where they are known."""

    run: Run
    arrays: Mapping[str, Any]
    pitches: int | None = None

    def row_of(self, channel: str) -> int | None:
        """Return where a channel stands in the arrays; None when it is not there."""
        channels = [str(each) for each in self.arrays.get("channels", ())]
        return channels.index(channel) if channel in channels else None

    def of_channel(self, name: str, channel: str) -> Floats | None:
        """Return one channel of an array; None when either is missing."""
        row, values = self.row_of(channel), self.arrays.get(name)
        if row is None or values is None:
            return None
        return np.asarray(values[row], dtype=np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """A line of a plot: the mean over the runs of a set.

    Attributes
    ----------
    x, y
        Shape (points,).
    """

    code: str
    x: Floats
    y: Floats
    runs: int
    is_level_true: bool

    def at(self, x: float) -> float | None:
        """Return the value nearest to x; None outside the curve and where it is not finite."""
        if not self.x.size or not self.x[0] <= x <= self.x[-1]:
            return None
        place = int(np.searchsorted(self.x, x))
        if place and x - self.x[place - 1] < self.x[min(place, self.x.size - 1)] - x:
            place -= 1
        value = float(self.y[place])
        return value if math.isfinite(value) else None


@dataclass(frozen=True, slots=True, eq=False)
class LevelMap:
    """A run over time or speed and frequency.

    Attributes
    ----------
    log_hz
        Decimal logarithm of the middle of every column, evenly spaced.
    rows
        Speed in km/h where `is_over_speed`, else time in s; increasing.
    level_db : (rows, columns)
    """

    log_hz: Floats
    rows: Floats
    level_db: Floats
    is_over_speed: bool
    is_level_true: bool

    def near(self, log_hz: float, row: float) -> tuple[float, float | None]:
        """Return the nearest row and the level in dB there; of a row of NaN the loudest."""
        column = int(np.abs(self.log_hz - log_hz).argmin())
        if math.isnan(row):
            place = int(np.nanargmax(np.nan_to_num(self.level_db[:, column], nan=-1e9)))
        else:
            place = int(np.abs(self.rows - row).argmin())
        level_db = float(self.level_db[place, column])
        return float(self.rows[place]), level_db if math.isfinite(level_db) else None


def read_curves(
    desk: RecordingDesk, runs: Iterable[Run], progress: Callable[[float, str], None]
) -> tuple[RunCurves, ...]:
    """Read the arrays of measured runs."""
    wanted = [run for run in runs if run.measured_at is not None]
    read = []
    for place, run in enumerate(wanted):
        progress(place / len(wanted), f"Reading run {place + 1} of {len(wanted)}")
        arrays = desk.arrays(run.recording_id)
        if arrays is not None:
            pitches = desk.tread_of_run(run.recording_id).pitches
            read.append(RunCurves(run, drawable(arrays), pitches))
    return tuple(read)


def drawable(arrays: Mapping[str, Any]) -> dict[str, Any]:
    """Bring a map to as many columns as are drawn, even in log frequency.

    The whole of it, with every channel, would fill the memory for a few runs.
    """
    made = dict(arrays)
    if "map_db" in made and "map_hz" in made:
        lines_hz = np.asarray(made.pop("map_hz"), np.float64)
        made["map_log_hz"], made["map_db"] = _log_columns(lines_hz, made["map_db"])
    return made


def spectra(curves: Sequence[RunCurves], channel: str) -> tuple[Curve, ...]:
    """Average the narrow-band spectra of each set over its runs, levels arithmetically.

    Runs marked void are left out.
    """
    return _mean_curves(curves, "spectrum_hz", lambda each: each.of_channel("spectrum_db", channel))


def heard_spectra(curves: Sequence[RunCurves], channel: str) -> tuple[Curve, ...]:
    """Average the spectra as `spectra` does, from 20 Hz to 12.5 kHz; empty ones are left out."""
    kept = []
    for curve in spectra(curves, channel):
        inside = (curve.x >= LOWEST_HZ) & (curve.x <= HIGHEST_HZ) & np.isfinite(curve.y)
        if inside.any():
            kept.append(replace(curve, x=curve.x[inside], y=curve.y[inside]))
    return tuple(kept)


def third_octave_spectra(block: Iterable[FigureFinding]) -> tuple[Curve, ...]:
    """Return the mean third octaves of each set, over the middle frequencies in Hz.

    Parameters
    ----------
    block
        Figures of one condition and channel, see `Measured.block`.
    """
    points: dict[str, list[tuple[float, float, int, bool]]] = {}
    for finding in block:
        centre_hz = _CENTRES_HZ.get(finding.key.removeprefix("third_octave_"))
        if centre_hz is None:
            continue
        for each in finding.sets:
            if each.mean is not None:
                row = (centre_hz, each.mean, each.runs, is_level_true(each.unit))
                points.setdefault(each.set, []).append(row)
    return tuple(
        Curve(
            code,
            np.array([row[0] for row in sorted(rows)]),
            np.array([row[1] for row in sorted(rows)]),
            max(row[2] for row in rows),
            all(row[3] for row in rows),
        )
        for code, rows in points.items()
    )


def levels_over_speed(curves: Sequence[RunCurves], channel: str, band: str) -> tuple[Curve, ...]:
    """Average the level of a band over 5 km/h bins of speed, set by set."""

    def level(each: RunCurves) -> Floats | None:
        if band == OVERALL:
            return each.of_channel("leq_a_against_speed_db", channel)
        keys = [str(key) for key in each.arrays.get("band_keys", ())]
        levels = each.of_channel("band_against_speed_db", channel)
        return None if levels is None or band not in keys else levels[keys.index(band)]

    return _mean_curves(curves, "bins_km_h", level)


def bands_over_speed(curves: Sequence[RunCurves]) -> tuple[str, ...]:
    """Return the bands that are known over speed, `OVERALL` first where it is."""
    keys = [str(key) for each in curves for key in each.arrays.get("band_keys", ())]
    is_known = any("leq_a_against_speed_db" in each.arrays for each in curves)
    return tuple(dict.fromkeys([OVERALL] * is_known + keys))


def predicted_cavity_hz(curves: Sequence[RunCurves]) -> tuple[float, float] | None:
    """Return where the cavity lines are predicted, lowest and highest of all runs."""
    lines = [
        np.asarray(each.arrays["cavity_predicted_hz"], dtype=np.float64)
        for each in curves
        if "cavity_predicted_hz" in each.arrays
    ]
    known = [value for line in lines for value in line.tolist() if math.isfinite(value)]
    return (min(known), max(known)) if known else None


def level_map(each: RunCurves, channel: str) -> LevelMap | None:
    """Return a run over frequency; columns even in log frequency, each with its loudest line."""
    levels = each.of_channel("map_db", channel)
    if levels is None or "map_log_hz" not in each.arrays or not levels.size:
        return None
    is_over_speed = "map_speed_km_h" in each.arrays
    rows = np.asarray(each.arrays["map_speed_km_h" if is_over_speed else "map_s"], np.float64)
    order = np.argsort(rows)
    log_hz = each.arrays["map_log_hz"]
    return LevelMap(log_hz, rows[order], levels[order], is_over_speed, each.run.is_level_true)


def map_range_db(
    curves: Sequence[RunCurves], channel: str, *, is_level_true: bool
) -> tuple[float, float]:
    """Return the ends of one colour scale for all runs: a fixed depth below the loudest."""
    loudest = -math.inf
    for each in curves:
        levels = each.of_channel("map_db", channel)
        if levels is not None and each.run.is_level_true == is_level_true:
            loudest = max(
                loudest, float(np.max(levels, where=np.isfinite(levels), initial=loudest))
            )
    top = math.ceil(loudest / 10.0) * 10.0 if math.isfinite(loudest) else 0.0
    return top - _MAP_DEPTH_DB, top


def _log_columns(
    lines_hz: Floats, levels_db: npt.NDArray[np.floating[Any]]
) -> tuple[Floats, npt.NDArray[np.floating[Any]]]:
    """Put the last axis, lines, on columns of which each keeps its loudest line."""
    edges = np.linspace(math.log10(LOWEST_HZ), math.log10(HIGHEST_HZ), _MAP_COLUMNS + 1)
    middle = (edges[:-1] + edges[1:]) / 2
    starts = np.searchsorted(lines_hz, 10.0 ** edges[:-1])
    stops = np.searchsorted(lines_hz, 10.0 ** edges[1:])
    places = np.arange(lines_hz.size, dtype=np.float64)
    nearest = np.rint(np.interp(10.0**middle, lines_hz, places)).astype(np.intp)
    columns = levels_db[..., nearest]
    for column in np.flatnonzero(stops - starts > 1):
        columns[..., column] = levels_db[..., starts[column] : stops[column]].max(axis=-1)
    columns[..., 10.0**middle > lines_hz[-1]] = np.nan
    return middle, columns


def _mean_curves(
    curves: Sequence[RunCurves],
    x_name: str,
    level: Callable[[RunCurves], Floats | None],
) -> tuple[Curve, ...]:
    by_set: dict[tuple[str, bool], list[tuple[Floats, Floats]]] = {}
    for each in curves:
        values, x = level(each), each.arrays.get(x_name)
        if values is not None and x is not None and each.run.worst != "void":
            key = (each.run.set_code, each.run.is_level_true)
            by_set.setdefault(key, []).append((np.asarray(x, np.float64), values))
    made = []
    for (code, is_true), runs in by_set.items():
        if not is_true and (code, True) in by_set:
            continue  # never averaged with, or shown beside, the set's calibrated runs
        x, y = _mean_of(runs)
        made.append(Curve(code, x, y, len(runs), is_true))
    return tuple(made)


def _mean_of(runs: Sequence[tuple[Floats, Floats]]) -> tuple[Floats, Floats]:
    """Average at the points that all runs share."""
    shared = runs[0][0]
    for x, _ in runs[1:]:
        shared = np.intersect1d(shared, x, assume_unique=True)
    rows = [y[np.searchsorted(x, shared)] for x, y in runs]
    count = np.sum([~np.isnan(row) for row in rows], axis=0)
    total = np.nansum(rows, axis=0)
    return shared, np.where(count > 0, total / np.maximum(count, 1), np.nan)
