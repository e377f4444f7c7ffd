"""Whether a line of a spectrum stands where it is all the time, as a resonance does."""

import numpy as np
from numpy.typing import NDArray

from ratings.acoustics.rolling.standing_out import joined

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


def moved_lines(parts: NDArray[np.float64], at: int) -> int | None:
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
    smooth = np.stack([joined(part, _WIDTH) for part in parts])
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


def passes_by(parts: NDArray[np.float64], at: int) -> bool:
    """Tell whether a line is there for a small part of the time only; parameters as above."""
    if len(parts) < _LEAST_PARTS:
        return False
    kept = int(np.ceil(_KEPT_TIME * len(parts)))
    bands = np.stack([joined(part, _BAND) for part in parts])
    places = np.clip(at + np.array((0, *_BESIDE)), 0, parts.shape[1] - 1)
    whole = bands[:, places].mean(axis=0)
    quiet = np.sort(bands[:, places], axis=0)[:kept].mean(axis=0)
    height, without = (each[0] / np.median(each[1:]) - 1.0 for each in (whole, quiet))
    return bool(height > 0.0 and without < _LEAST_KEPT * height)
