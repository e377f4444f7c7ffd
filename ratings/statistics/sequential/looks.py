"""Differences to a control as a look finds them: evidence, what it settles, and an interval."""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.planning.claim_power import FEWEST_TO_CLAIM
from ratings.statistics.sequential.crossing import look_bound
from ratings.statistics.sequential.mixture import log_evidence, t_to_reach
from ratings.study.constants import ALPHA

Matrix = npt.NDArray[np.float64]

#: Part of the level that looks may spend before the panel is complete. Looks at the full level and
#: a final verdict at the full level together claim what is not there in 8 % of studies of 16
#: evaluators (a test beside this module counts): a lead who stops at what a look shows, and else
#: waits for the final verdict, has both chances. A fifth takes nothing from the final verdict and
#: adds less than one in a hundred to its five (our judgement).
LOOK_SHARE = 0.2
#: p that the final verdict must pass after looks that somebody would have acted on, so that both
#: together hold the level whatever their dependence.
FINAL_LEVEL = (1 - LOOK_SHARE) * ALPHA
#: For larger plans bounds lie on straight lines between powers of two comparisons, good to 1 % of
#: the level; for smaller ones they bend, and are soon found.
_FEW_LOOKS = 6


@dataclass(frozen=True, slots=True)
class Looked:
    """Comparisons as one look finds them, each of shape (comparisons,).

    Attributes
    ----------
    evaluators
        How many have a value.
    mean
        In score points; NaN without any.
    sd
        Over evaluators, never below what the steps of the scores hide; NaN for fewer than two.
    evidence
        Logarithm of the mixture likelihood ratio; NaN where `sd` is.
    """

    evaluators: npt.NDArray[np.intp]
    mean: Matrix
    sd: Matrix
    evidence: Matrix

    @property
    def usual_sd(self) -> float | None:
        """Root mean square of all comparisons' SD; None where fewer than two are known."""
        known = self.sd[~np.isnan(self.sd)]
        return math.sqrt(np.square(known).mean()) if known.size > 1 else None


def look_at(values: Matrix, rounding: npt.ArrayLike = 0.0) -> Looked:
    """Weigh each comparison's mean against its own scatter over evaluators.

    Parameters
    ----------
    values
        Each evaluator's mean difference, shape (evaluators, comparisons); NaN where there is none.
    rounding
        Variance that the steps of the scores alone give such a value, in squared score points; the
        scatter is never taken as less: a few evaluators who agree to the step are not sure beyond
        it. Broadcast over comparisons.
    """
    known = ~np.isnan(values)
    count = known.sum(axis=0)
    mean = np.where(known, values, 0.0).sum(axis=0) / np.where(count > 0, count, np.nan)
    squares = np.square(np.where(known, values - mean, 0.0)).sum(axis=0)
    variance = np.maximum(squares / np.where(count > 1, count - 1, np.nan), rounding)
    # Without scatter and without steps a difference is endlessly sure, and none is none.
    with np.errstate(divide="ignore", invalid="ignore"):
        t = np.where(mean == 0, 0.0 * variance, mean / np.sqrt(variance / count))
        t = np.clip(t, -1e100, 1e100)
        evidence = log_evidence(t, count)
    return Looked(np.asarray(count, dtype=np.intp), mean, np.sqrt(variance), evidence)


@dataclass(frozen=True, slots=True)
class Plan:
    """Which evidence settles a comparison.

    Attributes
    ----------
    planned
        Evaluators at which the final verdict is given; None where none is planned, or more have
        finished: then the bound holds for any number of looks, for ever (Ville J (1939) Etude
        critique de la notion de collectif; from memory).
    """

    planned: int | None

    def bound(self, comparisons: int = 1) -> float:
        """Return the logarithm of the evidence that one of several comparisons must reach."""
        if self.planned is None:
            return math.log(comparisons / ALPHA)
        power = comparisons.bit_length() - 1
        if self.planned <= _FEW_LOOKS or comparisons == 2**power:
            return self._exact_bound(comparisons)
        # Holm's steps ask for many bounds.
        low, high = (self._exact_bound(2**each) for each in (power, power + 1))
        return low + (high - low) * (math.log2(comparisons) - power)

    def _exact_bound(self, comparisons: int) -> float:
        last = (self.planned or 0) - 1
        return look_bound(FEWEST_TO_CLAIM, last, LOOK_SHARE * ALPHA / comparisons)

    def half_width(self, evaluators: int, sd: float) -> float:
        """Return half of the interval that holds at every look; infinite where there is none yet.

        It holds what the same test, asked of this comparison alone, does not reject.
        """
        if evaluators < FEWEST_TO_CLAIM:
            return math.inf
        return t_to_reach(self.bound(), evaluators) * sd / math.sqrt(evaluators)


def bounds_by_holm(
    evidence: Matrix, bound: Callable[[int], float]
) -> tuple[Matrix, npt.NDArray[np.bool_]]:
    """Hold the level over all comparisons, looks and both at once.

    Parameters
    ----------
    evidence
        Logarithms, shape (comparisons,); NaN is not judged now, but counts: it will be.
    bound
        Of the evidence, by how many comparisons share the level; as `Plan.bound`.

    Returns
    -------
    tuple of numpy.ndarray
        The bound that each must reach, and whether it does, each of shape (comparisons,).

    Notes
    -----
    Holm's steps on the chances that luck alone ever reaches the evidence found. These chances only
    fall if the largest evidence so far is kept, so that what is settled at some look would be
    settled at the last one, and Holm holds the level there, whatever the comparisons share. To
    judge by the evidence of now, which needs no record of the order in which evaluators came,
    settles less. Dunnett's method would need the correlation of the comparisons, which a few
    evaluators do not tell; at a correlation of a half and three to seven sets it asks 2 % less of t
    (Holm S (1979) Scandinavian Journal of Statistics 6:65-70).
    """
    asked = np.full(evidence.size, np.nan)
    settled = np.zeros(evidence.size, dtype=np.bool_)
    order = np.argsort(-np.where(np.isnan(evidence), -np.inf, evidence), kind="stable")
    for place, index in enumerate(order.tolist()):
        asked[order[place:]] = needed = bound(evidence.size - place)
        if not evidence[index] >= needed:
            break
        settled[index] = True
    return asked, settled
