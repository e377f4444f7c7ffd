"""Lines in a coast-down's map: orders, which follow the speed, and fixed frequencies."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ratings.acoustics.rolling.coast_down import CoastDownMap
from ratings.study.constants import KM_H_PER_M_S

RidgeKind = Literal["order", "frequency"]

MOST_RIDGES = 12
_CHANCE = 0.01
_BACKGROUND_HZ = 60.0
#: A cell counts for a ridge when it stands higher than this above the background.
_OFFSET_DB = 2.5
_LOWEST_HZ = 20.0
_ORDER_STEP = 0.25
_HIGHEST_ORDER = 400.0
#: Cavity lines move by the turns of the wheel; such a path must score a little better.
_TURNS, _PLAIN_FIRST = (0, -1, 1), 1.02
#: An order is told from a frequency only when it moves over so many lines.
_TOLD_APART_LINES = 4.0


@dataclass(frozen=True, slots=True, eq=False)
class Ridge:
    """A line in the map.

    Attributes
    ----------
    kind
        ``order``: follows the speed; ``frequency``: stays.
    order, frequency_hz
        One of them, the other is None. A frequency holds for standstill.
    turns
        How many times the turns per second a frequency moves up with speed: 0, or -1 and +1 for
        the two cavity lines of a rolling tyre.
    prominence_db
        Mean height above the background between the two speeds.
    low_km_h, high_km_h
        Between which speeds the ridge stands out.
    prominence_by_speed_db
        Height at each speed of the map, shape (speeds,); NaN where there is none.
    """

    kind: RidgeKind
    order: float | None
    frequency_hz: float | None
    turns: int
    prominence_db: float
    low_km_h: float
    high_km_h: float
    prominence_by_speed_db: NDArray[np.float64]

    def at_hz(self, speed_km_h: float, circumference_m: float) -> float:
        """Return the frequency of the ridge at a speed."""
        turns_per_s = speed_km_h / KM_H_PER_M_S / circumference_m
        return (self.frequency_hz or 0.0) + (self.order or self.turns) * turns_per_s


def find_ridges(
    coast_down: CoastDownMap, circumference_m: float, channel: int = 0
) -> tuple[Ridge, ...]:
    """Find the ridges of one channel, those that stand out most first.

    Notes
    -----
    Each candidate, a constant order or a constant frequency (or one that moves by once the turns
    of the wheel, as the cavity lines do), is followed through the map; its
    score is the largest sum of heights, less 2.5 dB each, over neighbouring speeds. A path of the
    wrong kind crosses a ridge for a few speeds only and scores less. The best is taken, its cells
    are emptied, and the rest is searched again, until what is left is what scatter alone reaches
    in 1 % of maps. The method is ours; background and spread are medians.
    """
    prominence_db = prominences_db(coast_down, channel)
    paths = _Paths(coast_down, circumference_m)
    centred = prominence_db[np.isfinite(prominence_db)]
    if centred.size == 0:
        return ()
    spread_db = 1.4826 * float(np.median(np.abs(centred - np.median(centred))))
    limit = chance_limit(_OFFSET_DB, spread_db, paths.lines.size, _CHANCE)
    left_db = np.where(np.isfinite(prominence_db), prominence_db, _OFFSET_DB)
    found: list[Ridge] = []
    while len(found) < MOST_RIDGES:
        gain = paths.along(left_db, _OFFSET_DB) - _OFFSET_DB
        score, first, last = best_stretches(gain)
        score *= paths.preference
        best = int(np.argmax(score))
        if score[best] <= limit:
            break
        found.append(
            _ridge(coast_down, paths, prominence_db, best, (int(first[best]), int(last[best])))
        )
        _empty(left_db, paths, best, (int(first[best]), int(last[best])))
    return tuple(found)


def prominences_db(coast_down: CoastDownMap, channel: int) -> NDArray[np.float64]:
    """Return the map above its running median over frequency, shape (speeds, lines)."""
    from scipy.ndimage import median_filter

    level_db = coast_down.level_db[channel]
    size = 2 * round(_BACKGROUND_HZ / coast_down.resolution_hz) + 1
    finite = np.where(np.isfinite(level_db), level_db, -1000.0)
    above = finite - median_filter(finite, size=(1, size), mode="reflect")
    return np.asarray(np.where(np.isfinite(level_db), above, np.nan))


class _Paths:
    """Which line of the map each candidate lies in at each speed.

    Rows are grouped: all orders first, then all frequencies for each way of moving with the turns.
    """

    def __init__(self, coast_down: CoastDownMap, circumference_m: float) -> None:
        lines, resolution_hz = coast_down.frequency_hz.size, coast_down.resolution_hz
        mean_km_h = coast_down.fine.mean_speed_km_h
        speed_km_h = np.where(np.isfinite(mean_km_h), mean_km_h, coast_down.speed_km_h)
        turns_per_s = speed_km_h / KM_H_PER_M_S / circumference_m
        lowest = _TOLD_APART_LINES * resolution_hz / float(np.ptp(turns_per_s))
        highest = min(_HIGHEST_ORDER, lines * resolution_hz / float(turns_per_s.min() + 1e-9))
        orders = np.arange(np.ceil(lowest / _ORDER_STEP), highest / _ORDER_STEP) * _ORDER_STEP
        still = np.arange(int(np.ceil(_LOWEST_HZ / resolution_hz)), lines)
        self.grids = [orders] + [still * resolution_hz for _ in _TURNS]
        moving = [np.outer(orders, turns_per_s) / resolution_hz]
        moving += [still[:, np.newaxis] + turns * turns_per_s / resolution_hz for turns in _TURNS]
        self.lines = np.round(np.concatenate(moving)).astype(np.int64)
        self._outside = (self.lines >= lines) | (self.lines < still[0])
        self._kept = np.where(self._outside, 0, self.lines)
        # A tone of constant order sweeps over several lines inside one step of speed.
        step_per_s = 1.0 / KM_H_PER_M_S / circumference_m
        others = np.zeros(len(self.lines) - orders.size)
        self.smear = np.concatenate([orders * step_per_s / resolution_hz, others])
        plain = orders.size + still.size
        self.preference = np.ones(len(self.lines))
        self.preference[plain:] = 1.0 / _PLAIN_FIRST

    def group(self, row: int) -> tuple[int, int]:
        """Return which grid a row belongs to, and its place there."""
        for number, grid in enumerate(self.grids):
            if row < grid.size:
                return number, row
            row -= grid.size
        raise IndexError(row)

    def along(self, values: NDArray[np.float64], outside: float) -> NDArray[np.float64]:
        """Return the values of (speeds, lines) along each path, shape (paths, speeds)."""
        return self.read(values, outside, slice(None), slice(None))

    def read(
        self, values: NDArray[np.float64], outside: float, rows: slice, columns: slice
    ) -> NDArray[np.float64]:
        """Return the same for some paths and speeds; `values` holds those speeds only."""
        read = values[np.arange(values.shape[0]), self._kept[rows, columns]]
        return np.where(self._outside[rows, columns], outside, read)


def _ridge(
    coast_down: CoastDownMap,
    paths: _Paths,
    prominence_db: NDArray[np.float64],
    best: int,
    stretch: tuple[int, int],
) -> Ridge:
    first, last = stretch
    prominence_by_speed_db = paths.along(prominence_db, np.nan)[best]
    group, _ = paths.group(best)
    centre = _centre(paths, prominence_db[first : last + 1], best, slice(first, last + 1))
    speed_km_h = coast_down.speed_km_h
    return Ridge(
        kind="order" if group == 0 else "frequency",
        order=centre if group == 0 else None,
        frequency_hz=None if group == 0 else centre,
        turns=0 if group == 0 else _TURNS[group - 1],
        prominence_db=float(np.nanmean(prominence_by_speed_db[first : last + 1])),
        low_km_h=float(speed_km_h[first]),
        high_km_h=float(speed_km_h[last]),
        prominence_by_speed_db=prominence_by_speed_db,
    )


def _centre(paths: _Paths, prominence_db: NDArray[np.float64], best: int, columns: slice) -> float:
    """Centre of gravity of the power above the background over the neighbouring candidates."""
    group, place = paths.group(best)
    grid = paths.grids[group]
    reach = 3 if group == 0 else 1
    beside = slice(max(0, place - reach), min(grid.size, place + reach + 1))
    rows = slice(best - place + beside.start, best - place + beside.stop)
    prominences_db = paths.read(prominence_db, 0.0, rows, columns)
    above = np.maximum(10.0 ** (np.nanmean(prominences_db, axis=1) / 10.0) - 1.0, 1e-12)
    return float((above * grid[beside]).sum() / above.sum())


def _empty(
    left_db: NDArray[np.float64], paths: _Paths, best: int, stretch: tuple[int, int]
) -> None:
    """Take a ridge out of the map, with its flanks as far as they stand out."""
    first, last = max(0, stretch[0] - 2), min(len(left_db), stretch[1] + 3)
    least = 2 + int(np.ceil(paths.smear[best] / 2.0))
    speeds = np.arange(first, last)
    for side in (-1, 1):
        for away in range(least + 12):
            line = paths.lines[best, first:last] + side * away
            inside = (line >= 0) & (line < left_db.shape[1])
            cells = speeds[inside], line[inside]
            flank = left_db[cells]
            if away > least and (flank.size == 0 or flank.mean() < _OFFSET_DB):
                break
            left_db[cells] = _OFFSET_DB


def best_stretches(
    gain: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.int64], NDArray[np.int64]]:
    """Return the largest sum of neighbouring cells in each row, with its first and last column.

    Parameters
    ----------
    gain
        Shape (rows, columns): above zero where something stands out, below where nothing does.

    References
    ----------
    Bentley, J. 1984, Programming pearls: algorithm design techniques, Communications of the ACM
    27(9), 865-873, who credits J. Kadane.
    """
    rows = len(gain)
    running, began = np.zeros(rows), np.zeros(rows, np.int64)
    best = np.zeros(rows)
    first, last = np.zeros(rows, np.int64), np.zeros(rows, np.int64)
    for column in range(gain.shape[1]):
        anew = running <= 0.0
        began[anew] = column
        running = np.where(anew, 0.0, running) + gain[:, column]
        better = running > best
        best[better], first[better], last[better] = running[better], began[better], column
    return best, first, last


def chance_limit(offset: float, spread: float, candidates: int, chance: float) -> float:
    """Return the sum that scatter alone exceeds in any of many rows with a given chance.

    Parameters
    ----------
    offset
        By how much each cell of scatter lies below zero on average.
    spread
        Standard deviation of a cell.
    candidates
        Rows times columns: sums may begin anywhere.

    Notes
    -----
    A sum of normal steps with mean -m and deviation s exceeds h with a chance of at most
    exp(-2 m h / s^2) (Lundberg's inequality; Asmussen, Ruin Probabilities, from memory).
    """
    return float(np.log(candidates / chance) * spread**2 / (2.0 * offset))
