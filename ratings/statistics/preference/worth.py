"""Which set is preferred, and by how much: Bradley-Terry, with "no difference" and with order."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.distributions import chi_square_upper_tail, t_quantile
from ratings.statistics.preference.one_sided_choices import (
    likelihood_supremum,
    penalised_maximum,
)
from ratings.statistics.preference.pair_counts import FIRST, NONE, SECOND, PairCounts
from ratings.statistics.preference.pair_likelihood import (
    Maximum,
    gradient_at,
    likelihood_maximum,
    saturated_log_likelihood,
)
from ratings.statistics.preference.pair_links import (
    one_sided_outcome,
    reason_against_scale,
    separating_direction,
)
from ratings.study.constants import ALPHA

Matrix = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class ChiSquareTest:
    """A chi-square with its degrees of freedom; `p` is None without any."""

    chi_square: float
    df: int
    p: float | None


@dataclass(frozen=True, slots=True)
class Worths:
    """Worth of each set on a log scale; what is undefined is None.

    Attributes
    ----------
    sets, choices
        How many sets there are, and how many choices the fit stands on.
    log_worth, se
        Log worth and standard error, shape (sets,), set 0 fixed at 0. A difference of 1 means
        that the one is chosen 2.7 times as often as the other.
    covariance
        Of the log worths, shape (sets, sets); row and column 0 are 0.
    panel_covariance
        The same with the evaluators as what could have been others; None when they are not known,
        or fewer than two.
    evaluators
        How many made the choices; 0 when they are not known.
    log_nu, log_nu_se
        How readily "no difference" is answered; None when nobody answered it.
    order_effect, order_effect_se
        Log-odds that the place gives to the set heard first; None when it was not fitted.
    penalised, penalised_se
        Log worth by the penalised likelihood and its standard error, shape (sets,), where the
        likelihood has no maximum: finite, drawn towards equal worth. None where it has one.
    fit
        Deviance from the model that fits every pair by itself; a small p says that one scale
        does not describe the choices.
    equal_worth
        Likelihood-ratio test that all sets are worth the same, with ties and order left in. Where
        sets were never passed over, of what the likelihood comes as near as one likes.
    reason
        Why the worths are undefined, in words; empty when they are defined.
    above, below
        Where worths are undefined because sets were never passed over for others: the sets at the
        top and at the bottom. Empty otherwise.
    in_order
        Then all sets, best first, if every decision agrees with the one order. Empty otherwise.
    """

    sets: int
    choices: int
    log_worth: Matrix | None = None
    se: Matrix | None = None
    covariance: Matrix | None = None
    panel_covariance: Matrix | None = None
    evaluators: int = 0
    log_nu: float | None = None
    log_nu_se: float | None = None
    order_effect: float | None = None
    order_effect_se: float | None = None
    penalised: Matrix | None = None
    penalised_se: Matrix | None = None
    fit: ChiSquareTest | None = None
    equal_worth: ChiSquareTest | None = None
    reason: str = ""
    above: tuple[int, ...] = ()
    below: tuple[int, ...] = ()
    in_order: tuple[int, ...] = ()

    @property
    def edge(self) -> tuple[int, int] | None:
        """The lowest of the sets never passed over, and the highest of the others; None if none."""
        if self.penalised is None or not self.above:
            return None
        others = np.setdiff1d(np.arange(self.sets), self.above)
        top = np.array(self.above)
        lowest, highest = self.penalised[top].argmin(), self.penalised[others].argmax()
        return int(top[lowest]), int(others[highest])

    def lead(self, one: int, other: int) -> tuple[float, float]:
        """Return how far one set lies above another, and the standard error; NaN if undefined.

        The larger of two errors where the evaluators are known: choices of one hang together.
        """
        if self.log_worth is None or self.covariance is None:
            return math.nan, math.nan
        known = [each for each in (self.covariance, self.panel_covariance) if each is not None]
        variance = max(
            float(each[one, one] + each[other, other] - 2 * each[one, other]) for each in known
        )
        return float(self.log_worth[one] - self.log_worth[other]), math.sqrt(max(0.0, variance))


def fit_worths(
    pairs: PairCounts, *, order: bool = False, by_evaluator: Sequence[PairCounts] = ()
) -> Worths:
    """Fit worths by maximum likelihood.

    Parameters
    ----------
    pairs
        Choices by pair. "No difference" is modelled whenever somebody answered it.
    order
        Whether the set heard first may have an advantage. Without it both orders of a pair are
        taken together.
    by_evaluator
        The same choices evaluator by evaluator.

    Notes
    -----
    For the pair (i, j), i first: the chances of i, j and neither are in the ratio
    ``exp(order) w_i : w_j : nu sqrt(w_i w_j)``. Newton's method; standard errors from the
    information at the maximum. Choices count as independent: with several of one evaluator these
    standard errors are too small, and `Worths.panel_covariance` is the sandwich over evaluators
    with the usual factor n / (n - 1). The same as R ``glm(binomial)`` on a +1/-1 design without
    ties and a log-linear ``glm(poisson)`` with them. Undefined, and said so, when sets fall into
    groups that never met. When one side always won no worth is finite at the maximum: then the
    penalised ones are given, see `ratings.statistics.preference.one_sided_choices`.

    References
    ----------
    Bradley RA, Terry ME (1952) Biometrika 39:324-345. Davidson RR (1970) JASA 65:317-328.
    Davidson RR, Beaver RJ (1977) Biometrics 33:693-702.
    Liang K-Y, Zeger SL (1986) Biometrika 73:13-22 (the sandwich; from memory).
    """
    cells = pairs if order else pairs.without_order()
    choices = int(cells.counts.sum())
    reason = reason_against_scale(cells)
    if reason:
        return Worths(cells.sets, choices, reason=reason)
    design, counts = _design(cells, order=order)
    gains = design[:, 1:, :] - design[:, :1, :]
    if np.linalg.matrix_rank(gains.reshape(-1, design.shape[2])) < design.shape[2]:
        reason = "The advantage of the set heard first cannot be told from the worths."
        return Worths(cells.sets, choices, reason=reason)
    if separating_direction(design, counts) is not None:
        return _one_sided(cells, design, counts, order=order)
    own = [
        (each if order else each.without_order()).placed_in(cells)[:, : counts.shape[1]]
        for each in by_evaluator
        if each.counts.any()
    ]
    return _fitted(cells.sets, design, counts, own, order=order)


def _design(cells: PairCounts, *, order: bool) -> tuple[Matrix, Matrix]:
    """Parameters: the worths of sets 1 and on, log nu where there are ties, the order effect."""
    ties = bool(cells.counts[:, NONE].any())
    outcomes, worths = 2 + ties, cells.sets - 1
    design = np.zeros((len(cells.first), outcomes, cells.sets + ties + order))
    cell = np.arange(len(cells.first))
    design[cell, FIRST, cells.first] = 1.0
    design[cell, SECOND, cells.second] = 1.0
    if ties:
        design[cell, NONE, cells.first] = 0.5
        design[cell, NONE, cells.second] = 0.5
        design[cell, NONE, worths + 1] = 1.0
    if order:
        design[cell, FIRST, worths + 1 + ties] = 1.0
    return design[:, :, 1:], cells.counts[:, :outcomes]


def _fitted(
    sets: int, design: Matrix, counts: Matrix, own: Sequence[Matrix], *, order: bool
) -> Worths:
    worths = sets - 1
    full = likelihood_maximum(design, counts)
    equal = likelihood_maximum(design[:, :, worths:], counts)
    saturated = saturated_log_likelihood(counts)
    errors = np.sqrt(np.diag(full.covariance))
    covariance = np.zeros((sets, sets))
    covariance[1:, 1:] = full.covariance[:worths, :worths]
    panel = None
    if len(own) > 1:
        panel = np.zeros((sets, sets))
        panel[1:, 1:] = _sandwich(design, own, full)[:worths, :worths]
    ties = counts.shape[1] > NONE
    freedom = counts.shape[0] * (counts.shape[1] - 1) - design.shape[2]
    return Worths(
        sets=sets,
        choices=int(counts.sum()),
        log_worth=np.concatenate([[0.0], full.parameters[:worths]]),
        se=np.concatenate([[0.0], errors[:worths]]),
        covariance=covariance,
        panel_covariance=panel,
        evaluators=len(own),
        log_nu=float(full.parameters[worths]) if ties else None,
        log_nu_se=float(errors[worths]) if ties else None,
        order_effect=float(full.parameters[-1]) if order else None,
        order_effect_se=float(errors[-1]) if order else None,
        fit=chi_square_test(2 * (saturated - full.log_likelihood), freedom),
        equal_worth=chi_square_test(2 * (full.log_likelihood - equal.log_likelihood), worths),
    )


def _one_sided(cells: PairCounts, design: Matrix, counts: Matrix, *, order: bool) -> Worths:
    """Say what is finite where the likelihood has no maximum."""
    worths = cells.sets - 1
    reason, above, below, in_order = one_sided_outcome(
        design[:, :, :-1] if order else design, counts, cells.wins()
    )
    penalised = penalised_maximum(design, counts)
    errors = np.sqrt(np.diag(penalised.covariance))[:worths]
    full, equal = (likelihood_supremum(each, counts) for each in (design, design[:, :, worths:]))
    return Worths(
        cells.sets,
        int(counts.sum()),
        penalised=np.concatenate([[0.0], penalised.parameters[:worths]]),
        penalised_se=np.concatenate([[0.0], errors]),
        equal_worth=chi_square_test(2 * (full - equal), worths),
        reason=reason,
        above=above,
        below=below,
        in_order=in_order,
    )


def _sandwich(design: Matrix, own: Sequence[Matrix], full: Maximum) -> Matrix:
    pulls = np.stack([gradient_at(design, counts, full.parameters) for counts in own])
    spread = pulls.T @ pulls * len(own) / (len(own) - 1)
    return np.asarray(full.covariance @ spread @ full.covariance)


def chi_square_test(chi_square: float, df: int) -> ChiSquareTest:
    """Look up a chi-square; what rounding left below zero is zero."""
    chi_square = max(0.0, chi_square)
    return ChiSquareTest(chi_square, df, chi_square_upper_tail(chi_square, df) if df else None)


def share_interval(
    ahead: float, error: float, evaluators: int, choices: int, confidence: float = 1.0 - ALPHA
) -> tuple[float, float]:
    """Return the interval of the share of decisions that falls on the set ahead.

    Parameters
    ----------
    ahead, error
        Log-odds and their standard error, as `ratings.statistics.preference.worth.Worths.lead`
        returns them.
    evaluators, choices
        How many made how many choices, of which no more can count.

    Notes
    -----
    Choices of one evaluator are correlated and count as fewer: as many independent ones as would
    have this standard error, with the exact limits of a binomial share for them, and with
    t over the evaluators. Where every choice stands for itself that is the exact binomial
    interval. Korn EL, Graubard BI (1998) Survey Methodology 24:193-201 (from memory).
    """
    from scipy.special import betaincinv

    share = 1 / (1 + math.exp(-ahead))
    tail = (1 - confidence) / 2
    # The error over n evaluators is that of n - 1 choices.
    size = min(1 + 1 / (error**2 * share * (1 - share)), float(choices))
    sure = t_quantile(1 - tail, max(size - 1, 1.0)) / t_quantile(1 - tail, max(evaluators - 1, 1))
    size *= min(1.0, sure) ** 2
    won, lost = size * share, size * (1 - share)
    return float(betaincinv(won, lost + 1, tail)), float(betaincinv(won + 1, lost, 1 - tail))


def unanimous_share(evaluators: int, confidence: float = 1.0 - ALPHA) -> float:
    """Return the least share of decisions that so many evaluators without exception prove.

    Notes
    -----
    The chance that an evaluator makes no exception is at most his share of decisions, so that the
    exact one-sided limit of the one (Clopper-Pearson) holds for the other.
    """
    return float((1 - confidence) ** (1 / evaluators))
