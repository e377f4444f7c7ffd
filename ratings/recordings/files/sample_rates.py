"""Sample rates as measurement files give them: rounded, as a spacing, or as a time axis."""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

_RELATIVE_ROUNDING = 1e-5
"""UFF 58 prints a spacing with six digits, so that 1/96000 s reads as 95999.7 Hz."""
_LARGEST_JITTER = 0.25
"""Of the spacing; a single sample left out shifts a time axis by half of it or more."""
_TIMES_AT_ONCE = 2**19


def whole_rate_hz(rate_hz: float) -> int | None:
    """Give the whole number that a rate means; None when it is none within rounding.

    Examples
    --------
    >>> whole_rate_hz(1 / 1.95312e-05)
    51200
    >>> whole_rate_hz(8192.5) is None
    True
    """
    if not 0.5 <= rate_hz < 1e12:
        return None
    whole = round(rate_hz)
    return whole if abs(rate_hz - whole) <= _RELATIVE_ROUNDING * rate_hz else None


def even_rate_hz(
    times: int, read: Callable[[int, int], npt.NDArray[np.float64]], *, is_single: bool = False
) -> float | None:
    """Give the sample rate of a time axis; None when it is not evenly spaced.

    Parameters
    ----------
    times
        Length of the axis.
    read
        Gives the times from one index up to another, in seconds.
    is_single
        The times were stored in single precision, which rounds them.
    """
    if times < 2:
        return None
    first, last = float(read(0, 1)[0]), float(read(times - 1, times)[0])
    spacing_s = (last - first) / (times - 1)
    if not (spacing_s > 0 and np.isfinite(spacing_s)):
        return None
    allowed_s = _LARGEST_JITTER * spacing_s
    if is_single:
        allowed_s += float(np.spacing(np.float32(max(abs(first), abs(last)))))
    for start in range(0, times, _TIMES_AT_ONCE):
        stop = min(start + _TIMES_AT_ONCE, times)
        off_s = read(start, stop) - (first + spacing_s * np.arange(start, stop))
        # Written so that a time that is no number fails too.
        if not np.abs(off_s).max() <= allowed_s:
            return None
    return 1 / spacing_s
