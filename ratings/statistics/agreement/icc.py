"""Do the evaluators give the same numbers? Intraclass correlation, and the interval to expect."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.agreement.components import (
    VarianceComponents,
    one_way_components,
    two_way_components,
)
from ratings.statistics.distributions import f_quantile, f_upper_tail, normal_quantile
from ratings.statistics.missing import without_empty

Matrix = npt.NDArray[np.float64]

FORMS = ("ICC(1,1)", "ICC(A,1)", "ICC(C,1)", "ICC(1,k)", "ICC(A,k)", "ICC(C,k)")


@dataclass(frozen=True, slots=True)
class IntraclassCorrelation:
    """One form of the coefficient.

    Attributes
    ----------
    form
        McGraw and Wong's name: 1 one-way, A absolute agreement, C consistency; ``,1`` for one
        evaluator's score, ``,k`` for the mean of the panel. Shrout and Fleiss's ICC(2,.) are the
        A forms, ICC(3,.) the C forms.
    value
        None when it is undefined; never above 1, but it can be negative.
    lower, upper
        95 % interval; None when it is undefined.
    f, df1, df2, p
        Test that the coefficient is zero. `f` is infinite when nothing is left beside the sets.
        None for tables with holes.
    reason
        Why something is None, in words; empty when nothing is.
    """

    form: str
    value: float | None = None
    lower: float | None = None
    upper: float | None = None
    f: float | None = None
    df1: float | None = None
    df2: float | None = None
    p: float | None = None
    reason: str = ""


@dataclass(frozen=True, slots=True)
class IntraclassCorrelations:
    """All six forms of one table, in the order of `FORMS`.

    Attributes
    ----------
    missing
        Empty cells among evaluators and sets that have any score.
    components
        Variance components by restricted maximum likelihood; None when undefined.
    method
        ``mean squares`` for complete tables, ``restricted maximum likelihood`` for those with
        holes.
    """

    forms: tuple[IntraclassCorrelation, ...]
    evaluators: int
    sets: int
    missing: int
    components: VarianceComponents | None
    method: str

    def form(self, name: str) -> IntraclassCorrelation:
        """Return one form by its name, such as ``ICC(A,1)``."""
        return self.forms[FORMS.index(name)]


@dataclass(frozen=True, slots=True)
class _MeanSquares:
    k: int
    n: int
    sets: float
    evaluators: float
    residual: float
    within: float


def intraclass_correlations(scores: Matrix) -> IntraclassCorrelations:
    """Compute the six intraclass correlations of a panel.

    Parameters
    ----------
    scores
        Shape (evaluators, sets), in score points; NaN is a missing score. Every score is used:
        complete tables by mean squares, tables with holes by restricted maximum likelihood.

    Returns
    -------
    IntraclassCorrelations
        Without spread between the sets every form is undefined and says so, though a formula may
        still give a number. Complete agreement is 1 in every form. One evaluator, one set: reason.

    Notes
    -----
    Complete tables equal R irr ``icc(t(x), model, type, unit)``, intervals included, but for
    ICC(A,k): its degrees of freedom are taken at the value of the averaged form, in which k is
    counted already, where irr counts it again. Its interval is then that of ICC(A,1) stepped up to
    k evaluators, as R psych prints it. For the A forms p follows McGraw and Wong's degrees of
    freedom, taken at the estimate; psych quotes for them the p printed here for the C forms.

    With holes the values are ratios of components: R ``lmer(score ~ 1 + (1|set) +
    (1|evaluator))``, the one-way forms from ``(1|set)`` alone. The intervals of the A and C forms
    are then approximate: from the expected information, on the log of set over error variance.
    There is no F.

    References
    ----------
    McGraw KO, Wong SP (1996) Psychological Methods 1:30-46, tables 4, 7 and 8.
    Shrout PE, Fleiss JL (1979) Psychological Bulletin 86:420-428.
    """
    scores = without_empty(scores)
    k, n = scores.shape
    missing = int(np.isnan(scores).sum())
    method = "restricted maximum likelihood" if missing else "mean squares"
    components = two_way_components(scores)
    reason = _reason_against(scores)
    if reason:
        forms = tuple(IntraclassCorrelation(form, reason=reason) for form in FORMS)
    elif missing:
        forms = _from_components(components, one_way_components(scores), k)
    else:
        forms = _from_mean_squares(_mean_squares(scores))
    return IntraclassCorrelations(forms, k, n, missing, components, method)


def _reason_against(scores: Matrix) -> str:
    k, n = scores.shape
    if scores.size == 0:
        return "There are no scores."
    if k < 2:
        return "One evaluator cannot agree with anybody."
    if n < 2:
        return "With one set there is nothing to tell apart."
    set_means = np.nanmean(scores, axis=0)
    if np.ptp(set_means) <= 1e-9 * max(1.0, float(np.nanmax(np.abs(scores)))):
        own_spread = np.nanmax(scores, axis=1) - np.nanmin(scores, axis=1)
        if (own_spread > 1e-9).any():
            return "The evaluators contradict each other, so that on average no set differs."
        return "Nobody told the sets apart, so there is nothing to agree on."
    return ""


def _mean_squares(scores: Matrix) -> _MeanSquares:
    k, n = scores.shape
    grand = scores.mean()
    set_means, evaluator_means = scores.mean(axis=0), scores.mean(axis=1)
    left = scores - set_means - evaluator_means[:, None] + grand
    squares = np.array(
        [
            k * np.square(set_means - grand).sum() / (n - 1),
            n * np.square(evaluator_means - grand).sum() / (k - 1),
            np.square(left).sum() / ((n - 1) * (k - 1)),
            np.square(scores - set_means).sum() / (n * (k - 1)),
        ]
    )
    # What remains of equal scores after subtraction is rounding, not spread.
    squares[squares < 1e-20 * max(1.0, float(np.square(scores).max()))] = 0.0
    return _MeanSquares(k, n, *map(float, squares))


def _from_mean_squares(squares: _MeanSquares) -> tuple[IntraclassCorrelation, ...]:
    k, n = squares.k, squares.n
    one_way = _ratio_forms("1", squares.sets, squares.within, n * (k - 1), squares)
    consistency = _ratio_forms("C", squares.sets, squares.residual, (n - 1) * (k - 1), squares)
    agreement = _agreement_single(squares), _agreement_average(squares)
    pairs = one_way, agreement, consistency
    return tuple(pair[0] for pair in pairs) + tuple(pair[1] for pair in pairs)


def _ratio_forms(
    letter: str, sets: float, error: float, df2: float, squares: _MeanSquares
) -> tuple[IntraclassCorrelation, IntraclassCorrelation]:
    """Forms that follow from one F ratio: one-way and consistency."""
    k, df1 = squares.k, squares.n - 1
    if error == 0:
        ones = (1.0, 1.0, 1.0, math.inf, df1, df2, 0.0)
        return (
            IntraclassCorrelation(f"ICC({letter},1)", *ones),
            IntraclassCorrelation(f"ICC({letter},k)", *ones),
        )
    f = sets / error
    ends = f / f_quantile(0.975, df1, df2), f * f_quantile(0.975, df2, df1)
    single = [(ratio - 1) / (ratio + k - 1) for ratio in (f, *ends)]
    average = [1 - 1 / ratio for ratio in (f, *ends)]
    test = (f, df1, df2, f_upper_tail(f, df1, df2))
    return (
        IntraclassCorrelation(f"ICC({letter},1)", single[0], single[1], single[2], *test),
        IntraclassCorrelation(f"ICC({letter},k)", average[0], average[1], average[2], *test),
    )


def _agreement_single(squares: _MeanSquares) -> IntraclassCorrelation:
    k, n, error = squares.k, squares.n, squares.residual
    rest = k * squares.evaluators + (k * n - k - n) * error
    scale = squares.sets + (k - 1) * error + k / n * (squares.evaluators - error)
    return _agreement_form("ICC(A,1)", scale, rest, squares)


def _agreement_average(squares: _MeanSquares) -> IntraclassCorrelation:
    rest = squares.evaluators - squares.residual
    return _agreement_form("ICC(A,k)", squares.sets + rest / squares.n, rest, squares)


def _agreement_form(
    form: str, scale: float, rest: float, squares: _MeanSquares
) -> IntraclassCorrelation:
    """McGraw and Wong's agreement forms, which differ in two terms only."""
    k, n, sets, error = squares.k, squares.n, squares.sets, squares.residual
    # A difference of mean squares that is nothing but rounding is no scale to divide by.
    if scale <= 1e-9 * (sets + squares.evaluators + error):
        return IntraclassCorrelation(
            form, reason="The sets differ too little beside the evaluators' scatter."
        )
    value = (sets - error) / scale
    df1 = n - 1
    if error == 0 and squares.evaluators == 0:
        return IntraclassCorrelation(form, 1.0, 1.0, 1.0, math.inf, df1, (n - 1) * (k - 1), 0.0)
    # McGraw and Wong's a, which is k ICC(A,1) / (n (1 - ICC(A,1))) = ICC(A,k) / (n (1 - ICC(A,k))).
    # The variance that F is judged by, a MSC + b MSE, is then the sets' mean square.
    odds = (sets - error) / (squares.evaluators + (n - 1) * error)
    of_evaluators, of_error = odds * squares.evaluators, (1 + odds * (n - 1)) * error
    spread = of_evaluators**2 / (k - 1) + of_error**2 / ((n - 1) * (k - 1))
    df2 = sets**2 / spread
    f = sets / error if error else math.inf
    low, high = f_quantile(0.975, df1, df2), f_quantile(0.975, df2, df1)
    p = f_upper_tail(f, df1, df2)
    ends = _agreement_interval(squares, rest, low, high)
    if ends is None or not ends[0] <= value <= ends[1]:
        reason = "The scores are too scattered for an interval."
        return IntraclassCorrelation(form, value, None, None, f, df1, df2, p, reason)
    return IntraclassCorrelation(form, value, *ends, f, df1, df2, p)


def _agreement_interval(
    squares: _MeanSquares, rest: float, low: float, high: float
) -> tuple[float, float] | None:
    n, sets, error = squares.n, squares.sets, squares.residual
    lower_scale, upper_scale = low * rest + n * sets, rest + n * high * sets
    if not (math.isfinite(low) and math.isfinite(high) and min(lower_scale, upper_scale) > 0):
        return None
    return n * (sets - low * error) / lower_scale, n * (high * sets - error) / upper_scale


def _from_components(
    two_way: VarianceComponents | None, one_way: VarianceComponents | None, k: int
) -> tuple[IntraclassCorrelation, ...]:
    shares = {}
    if one_way is not None:
        shares["1"] = one_way, one_way.residual
    if two_way is not None:
        shares["A"] = two_way, two_way.evaluators + two_way.residual
        shares["C"] = two_way, two_way.residual
    return tuple(
        _component_form(form, shares.get(form[4]), k if form.endswith("k)") else 1)
        for form in FORMS
    )


def _component_form(
    form: str, share: tuple[VarianceComponents, float] | None, averaged: int
) -> IntraclassCorrelation:
    if share is None:
        return IntraclassCorrelation(form, reason="Too many scores are missing to tell.")
    components, error = share
    total = components.sets + error / averaged
    if total <= 0:
        return IntraclassCorrelation(form, reason="Every score is the same.")
    value = components.sets / total
    no_test = "Scores are missing: restricted maximum likelihood has no F test here."
    ends = None if form[4] == "1" else _information_interval(form[4], components, averaged)
    if ends is None:
        return IntraclassCorrelation(form, value, reason=f"{no_test} There is no interval either.")
    return IntraclassCorrelation(
        form, value, *ends, reason=f"{no_test} The interval is approximate."
    )


def _information_interval(
    letter: str, components: VarianceComponents, averaged: int
) -> tuple[float, float] | None:
    """Interval by the delta method on the log of set variance over error variance."""
    if components.ratio_covariance is None:
        return None
    sets, evaluators = (
        part / components.residual for part in (components.sets, components.evaluators)
    )
    error = 1 + evaluators if letter == "A" else 1.0
    slope = np.array([1 / sets, -1 / error if letter == "A" else 0.0])
    reach = normal_quantile(0.975) * math.sqrt(float(slope @ components.ratio_covariance @ slope))
    signal = math.log(sets * averaged / error)
    lower, upper = ((1 + math.tanh((signal + side * reach) / 2)) / 2 for side in (-1, 1))
    return lower, upper


@dataclass(frozen=True, slots=True)
class IccPrecision:
    """The 95 % interval to expect, for one evaluator and for the panel's mean."""

    value: float
    lower: float
    upper: float
    mean_value: float
    mean_lower: float
    mean_upper: float


def icc_precision(value: float, sets: int, evaluators: int) -> IccPrecision | None:
    """Return the interval that a complete table would give if ICC(C,1) came out at `value`.

    Parameters
    ----------
    value
        From 0 up to, not including, 1.
    sets, evaluators
        Two or more of each.

    Returns
    -------
    IccPrecision or None
        None outside these limits.

    Notes
    -----
    The exact interval of the consistency forms; for absolute agreement it is a little wider. The
    number of sets sets a limit that no number of evaluators passes.

    References
    ----------
    McGraw KO, Wong SP (1996) Psychological Methods 1:30-46, table 7 (from memory).
    """
    if sets < 2 or evaluators < 2 or not 0 <= value < 1:
        return None
    df1, df2 = sets - 1, (sets - 1) * (evaluators - 1)
    f = (1 + (evaluators - 1) * value) / (1 - value)
    low, high = f / f_quantile(0.975, df1, df2), f * f_quantile(0.975, df2, df1)
    one = [(ratio - 1) / (ratio + evaluators - 1) for ratio in (low, high)]
    mean = [1 - 1 / ratio for ratio in (f, low, high)]
    return IccPrecision(value, one[0], one[1], mean[0], mean[1], mean[2])
