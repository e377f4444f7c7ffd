"""How far repeated runs scatter, and how sure their mean is."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.distributions import t_quantile

CONFIDENCE = 0.95


@dataclass(frozen=True, slots=True)
class RunSpread:
    """Repeats of one figure.

    Attributes
    ----------
    n
        Runs with a finite value.
    mean
        Arithmetic mean, of levels too: repeats scatter around one level, and their standard
        deviation is a repeatability in dB. None without runs.
    sd
        Standard deviation with n - 1; None for fewer than two runs.
    low, high
        Interval of the mean by Student's t; None as above.
    """

    n: int
    mean: float | None
    sd: float | None
    low: float | None
    high: float | None


def run_spread(
    values: npt.ArrayLike,
    pooled_sd: float | None = None,
    pooled_df: int | None = None,
    confidence: float = CONFIDENCE,
) -> RunSpread:
    """Describe repeats.

    Parameters
    ----------
    values
        Shape (runs,); what is not finite (silence, not measured) is left out.
    pooled_sd, pooled_df
        Standard deviation of repeats found over several sets, and its degrees of freedom: the
        interval then rests on it, also for a single run.

    References
    ----------
    JCGM 100:2008 (GUM), 4.2.1-4.2.4 and H.3.6 on pooled estimates (clauses from memory).
    """
    every = np.asarray(values, dtype=np.float64)
    known = every[np.isfinite(every)]
    n = len(known)
    if n == 0:
        return RunSpread(0, None, None, None, None)
    mean = float(known.mean())
    sd = float(known.std(ddof=1)) if n > 1 else None
    used_sd, df = (pooled_sd, pooled_df) if pooled_df else (sd, n - 1)
    if used_sd is None or not df:
        return RunSpread(n, mean, sd, None, None)
    half = t_quantile((1 + confidence) / 2, df) * used_sd / math.sqrt(n)
    return RunSpread(n, mean, sd, mean - half, mean + half)


@dataclass(frozen=True, slots=True)
class PooledSpread:
    """Standard deviation of repeats over several sets; None when no set was repeated."""

    sd: float | None
    df: int


def pooled_spread(groups: Sequence[npt.ArrayLike]) -> PooledSpread:
    """Pool the spread of repeats over sets, each around its own mean.

    References
    ----------
    ISO 5725-2:2019, 7.4: repeatability variance as the weighted mean of the cells' variances
    (clause from memory).
    """
    squares, df = 0.0, 0
    for group in groups:
        values = np.asarray(group, dtype=np.float64)
        known = values[np.isfinite(values)]
        if len(known) > 1:
            squares += float(((known - known.mean()) ** 2).sum())
            df += len(known) - 1
    return PooledSpread(math.sqrt(squares / df) if df else None, df)
