"""What stands out near a cavity's line and is something else."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ratings.acoustics.lines_over_time import LinesOverTime
from ratings.acoustics.rolling.spectral_line import OUTER_SHARE, SpectrumView, outer_share
from ratings.acoustics.rolling.standing_out import noise_limit, smoothed

#: Coherence of the phase from which a line is a tone, and chance that noise reaches its limit.
_STEADY, _STEADY_BY_CHANCE = 0.45, 0.01
#: Fewer parts of a recording tell nothing.
_LEAST_PARTS = 8
_WIDTH, _BAND = 3, 5
#: Movement over the recording that is looked for, in lines, and from where it is one.
_MOST_MOVED, _LEAST_MOVED = 40, 3
#: Height of the moving line over that of the standing one, for movements of up to so many lines and
#: for larger ones, of which more are tried. Lines of pairs 6 to 9 dB high reach it by chance in
#: 0.5 %, tones that move by 4 to 25 Hz in 8 s in 99 % (`tests/benchmarks/cavity_confounders.py`).
_SMALL_MOVED, _SMALL_OVER_STANDING, _OVER_STANDING = 6, 1.35, 1.6
#: Share of its height that a line keeps without the quarter of the time in which it is loudest:
#: 0.8 to 1.2 for resonances 6 dB high, under 0.3 in 0.5 % of them.
_KEPT_TIME, _LEAST_KEPT = 0.75, 0.3
_BESIDE = (-25, -20, -15, 15, 20, 25)
#: Spacings looked for: a wheel at 40 to 200 km/h, a shaft at 360 to 1800 turns a minute.
_SPACINGS_HZ = (5.5, 30.0)
_STEP_HZ = 0.05
#: So far to either side the series is followed, and so many neighbours it must have at least.
_REACH_HZ, _LEAST_NEIGHBOURS = 75.0, 4
#: Share of the places of the series where a line must stand.
_LEAST_SHARE = 0.75
_LEAST_HEIGHT_DB = 2.5
_CHANCE = 0.03
#: A line so much higher than the highest of its neighbours is more than one of them.
_OVER_NEIGHBOURS_DB = 4.0


@dataclass(frozen=True, slots=True)
class PassedOver:
    """A line that stands out as a cavity line would and is taken for something else.

    Attributes
    ----------
    why
        ``steady tone``: its phase goes on as that of a sine, or it is as narrow as one; ``moving``:
        it moves from the beginning to the end; ``passing``: it is there for a small part of the
        time; ``order series``: it stands in a row of lines at one spacing.
    spacing_hz
        Of that row, else None.
    moved_hz
        From the beginning to the end, for one that moves.
    """

    frequency_hz: float
    why: Literal["steady tone", "moving", "passing", "order series"]
    spacing_hz: float | None = None
    moved_hz: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class ConfounderJudge:
    """Tells a line that rings where it is from tones of machines and from orders."""

    view: SpectrumView
    averages: float
    over_time: LinesOverTime | None

    def something_else(self, at: int) -> PassedOver | None:
        """Return what a line is taken for; None for what may ring."""
        view = self.view
        frequency_hz = float(view.frequency_hz[at])
        if self._is_tone(at):
            return PassedOver(frequency_hz, "steady tone")
        if self.over_time is not None:
            parts = self.over_time.power.mean(axis=0)
            moved = _moved_lines(parts, self._line(at))
            if moved is not None:
                moved_hz = moved * view.resolution_hz
                return PassedOver(frequency_hz, "moving", moved_hz=moved_hz)
            if _passes_by(parts, self._line(at)):
                return PassedOver(frequency_hz, "passing")
        spacing_hz = _series_spacing_hz(view.ratio, view.resolution_hz, self.averages, at)
        if spacing_hz is not None:
            return PassedOver(frequency_hz, "order series", spacing_hz)
        return None

    def _line(self, at: int) -> int:
        """Return the index in the whole spectrum."""
        return round(float(self.view.frequency_hz[0]) / self.view.resolution_hz) + at

    def _is_tone(self, at: int) -> bool:
        if self.over_time is None:
            return False
        line = self._line(at)
        near = self.over_time.phase_coherence.mean(axis=0)[line - 1 : line + 2]
        # The phase of noise goes on by chance like a sum of so many random arrows (Rayleigh).
        by_chance = np.sqrt(-np.log(_STEADY_BY_CHANCE) / max(1.0, self.averages - 2.0))
        is_steady = float(near.max(initial=0.0)) > max(_STEADY, by_chance)
        return bool(is_steady) or outer_share(self.view, at) < OUTER_SHARE


def _moved_lines(parts: NDArray[np.float64], at: int) -> int | None:
    """Return how far a line moves from the beginning to the end; None where it stands.

    Parameters
    ----------
    parts
        Shape (parts, lines): power in successive parts of the recording.
    at
        Index of the line in the average over all parts.

    Notes
    -----
    The spectra of the parts are shifted against each other by a steady movement and averaged. What
    moves gathers to a line that is higher and narrower than in the plain average; what rings where
    it is blurs. That movement is sought, up to 40 lines, which makes the line highest. Averaged is
    the logarithm: a higher line that is crossed on the way is there in a few parts only.
    """
    count = len(parts)
    if count < _LEAST_PARTS:
        return None
    smooth = np.stack([smoothed(part, _WIDTH) for part in parts])
    smooth = np.log(np.maximum(smooth, np.finfo(float).tiny))
    moved = np.arange(-_MOST_MOVED, _MOST_MOVED + 1)
    middle = np.arange(-_MOST_MOVED // 2 - 2, _MOST_MOVED // 2 + 3)
    shift = np.round(moved[:, np.newaxis] * np.linspace(-0.5, 0.5, count)).astype(np.int64)
    place = at + middle[:, np.newaxis] + shift[:, np.newaxis, :]
    height = smooth[np.arange(count), np.clip(place, 0, parts.shape[1] - 1)].mean(axis=2)
    # Only what crosses the line on its way.
    crosses = np.abs(middle) <= np.abs(moved)[:, np.newaxis] / 2.0 + 2.0
    height = np.exp(np.where(crosses, height, -np.inf).max(axis=1))
    standing = float(height[np.abs(moved) <= 1].max())
    is_small = np.abs(moved) <= _SMALL_MOVED
    over = height / (standing * np.where(is_small, _SMALL_OVER_STANDING, _OVER_STANDING))
    over[np.abs(moved) < _LEAST_MOVED] = 0.0
    best = int(np.argmax(over))
    return int(moved[best]) if over[best] > 1.0 else None


def _passes_by(parts: NDArray[np.float64], at: int) -> bool:
    """Tell whether a line is there for a small part of the time only; parameters as above."""
    if len(parts) < _LEAST_PARTS:
        return False
    kept = int(np.ceil(_KEPT_TIME * len(parts)))
    bands = np.stack([smoothed(part, _BAND) for part in parts])
    places = np.clip(at + np.array((0, *_BESIDE)), 0, parts.shape[1] - 1)
    whole = bands[:, places].mean(axis=0)
    quiet = np.sort(bands[:, places], axis=0)[:kept].mean(axis=0)
    height, without = (each[0] / np.median(each[1:]) - 1.0 for each in (whole, quiet))
    return bool(height > 0.0 and without < _LEAST_KEPT * height)


def _series_spacing_hz(
    ratio: NDArray[np.float64], resolution_hz: float, averages: float, at: int
) -> float | None:
    """Return the spacing of the series that a line belongs to; None where it belongs to none.

    Parameters
    ----------
    ratio
        Power over its background, shape (lines,), about 1 Hz apart, from a Hann window.
    averages
        Equivalent number of independent spectra averaged.
    at
        Index of the line.

    Notes
    -----
    At the multiples of one spacing to either side of the line, within 75 Hz, lines must stand in
    three of four places, and the line itself must not be 4 dB higher than all of them. The rule is
    ours.
    """
    width = 3
    prominence_db = 10.0 * np.log10(smoothed(ratio, width))
    # A series that wanders with the speed does not hit the middle of a line.
    padded = np.pad(prominence_db, 1, mode="edge")
    crest_db = np.maximum(np.maximum(padded[:-2], padded[1:-1]), padded[2:])
    limit_db = 10.0 * float(np.log10(noise_limit(averages, width, 3, _CHANCE)))
    limit_db = max(limit_db, _LEAST_HEIGHT_DB)
    spacings_hz = np.arange(*_SPACINGS_HZ, _STEP_HZ)
    most = int(_REACH_HZ / _SPACINGS_HZ[0])
    steps = np.concatenate([np.arange(-most, 0), np.arange(1, most + 1)])
    away_hz = spacings_hz[:, np.newaxis] * steps
    places = np.round(at + _offset(ratio, at) + away_hz / resolution_hz).astype(np.int64)
    known = (np.abs(away_hz) <= _REACH_HZ) & (places >= 0) & (places < ratio.size)
    neighbour_db = np.where(known, crest_db[np.clip(places, 0, ratio.size - 1)], -np.inf)
    stands = (neighbour_db > limit_db).sum(axis=1)
    share = stands / np.maximum(known.sum(axis=1), 1)
    is_series = (stands >= _LEAST_NEIGHBOURS) & (share >= _LEAST_SHARE)
    is_series &= prominence_db[at] <= neighbour_db.max(axis=1) + _OVER_NEIGHBOURS_DB
    if not is_series.any():
        return None
    # Three times the spacing fits as well, with fewer lines.
    return float(spacings_hz[int(np.argmax(np.where(is_series, share * stands, -1.0)))])


def _offset(ratio: NDArray[np.float64], at: int) -> float:
    """Return how far the centre of gravity of a line lies from its highest point, in lines."""
    around = np.maximum(ratio[max(0, at - 1) : at + 2] - 1.0, 0.0)
    if around.size < 3 or not around.any():
        return 0.0
    return float((around * np.array([-1.0, 0.0, 1.0])).sum() / around.sum())
