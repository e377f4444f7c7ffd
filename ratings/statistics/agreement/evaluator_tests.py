"""Does an evaluator differ from the panel by more than chance? A p for each reason to check one."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.adjusted_p import benjamini_hochberg
from ratings.statistics.agreement.profile_agreement import ProfileAgreement
from ratings.statistics.agreement.residual_scatter import ResidualScatter
from ratings.statistics.distributions import f_upper_tails, t_lower_tails
from ratings.statistics.missing import median_of_known, ratio

Matrix = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]

#: Share of the level that the question over all attributes gets, the rest is shared out to each.
OVER_ALL = 0.8
#: Variance of a median beside that of a mean, of many normal values.
_MEDIAN_LOSS = np.pi / 2


@dataclass(frozen=True, slots=True)
class Soundness:
    """How much sound evaluators may differ from each other: settings, our judgement.

    Attributes
    ----------
    uneven
        Standard deviation of the logarithm of their scatter: 0.25 is 28 % more or less. They
        use the scale more or less widely, and a wider use scatters more.
    alike
        Correlation between the scores of one set on two attributes, the set's true difference
        taken off: eight attributes are not eight independent observations.
    least_scatter
        In score points: a panel's scatter counts as this at least, because scores come in steps.
    separates
        p at which the others must separate the sets, for anybody to be judged by them.
    follows
        Share of the differences between the sets that a sound evaluator follows at least.
    rest
        p at which the sets must still show that somebody follows too little, the one left out that
        shows it best: one set that scatters is no difference between the sets.
    carried
        Without the one score that adds most, the scatter must still be this many times the
        panel's: one slip makes nobody unreliable.
    odd
        Whoever has more than this many times the others' usual variance is left out when the
        others are averaged.
    fewest_others
        With fewer others, their median does not stand for a panel.
    fewest_df, fewest_hidden
        With fewer degrees of freedom, as `sampling_df` counts them, or fewer hidden pairs, it is
        too soon to judge: checked after every pair, somebody would be flagged sooner or later.
    """

    uneven: float = 0.25
    alike: float = 0.5
    least_scatter: float = 0.25
    separates: float = 0.05
    follows: float = 0.5
    rest: float = 0.4
    carried: float = 1.5
    odd: float = 4.0
    fewest_others: int = 3
    fewest_df: float = 4.0
    fewest_hidden: int = 2

    def sampling_df(self, df: Matrix, parts: Matrix) -> Matrix:
        """Reduce the df of mean squares over `parts` attributes that resemble each other."""
        return df / (1.0 + np.maximum(parts - 1.0, 0.0) * self.alike**2)

    def effective_df(self, sampling_df: Matrix) -> Matrix:
        """Reduce further for sound evaluators who scatter unevenly.

        A lognormal variance times chi-square / df has the relative variance 2 / df + 4 SD^2, to
        first order, which is that of chi-square with this many df.
        """
        return ratio(1.0, ratio(1.0, sampling_df) + 2 * self.uneven**2)


@dataclass(frozen=True, slots=True)
class ScatterTest:
    """Scatter beside that of the others; shape (evaluators,), NaN where it cannot be asked.

    Attributes
    ----------
    p
        Chance that a sound evaluator scatters as much.
    sd, others_sd
        In score points.
    reference, reference_df
        Mean of the others' mean squares, odd ones left out, in units of `units`; its df.
    units
        Variance of each attribute, shape (attributes,), in squared score points.
    """

    p: Matrix
    sd: Matrix
    others_sd: Matrix
    reference: Matrix
    reference_df: Matrix
    units: Matrix

    def excess_p(self, squares: Matrix, counts: Matrix, worst: Matrix, sound: Soundness) -> Matrix:
        """Judge other mean squares by the same reference.

        Parameters
        ----------
        squares, counts, worst
            Sums of squares that the scatter predicts, how many, and the largest; each of shape
            (attributes, evaluators).
        """
        parts = (counts > 0).sum(axis=0)
        p = _excess(
            *_in_units(squares, counts, worst, self.units),
            sound.sampling_df(counts.sum(axis=0), parts),
            (self.reference, self.reference_df),
            sound,
        )
        return np.where(counts.max(axis=0, initial=0) >= sound.fewest_hidden, p, np.nan)


def scatter_test(own: ResidualScatter, sound: Soundness) -> ScatterTest:
    """Compare each evaluator's scatter, pooled over the attributes, with the others'.

    Notes
    -----
    F of the mean square by the mean of the others', each in units of its attribute. Others who lie
    far above the others' median (`Soundness.odd`) are left out, so that two odd evaluators do not
    hide each other. The degrees of freedom of F are reduced for attributes that resemble each other
    and for sound evaluators who scatter unevenly, see `Soundness`.
    """
    least = sound.least_scatter**2
    mean_square = own.mean_square / _median_of_chi_square(own.df)
    units = np.fmax(median_of_known(mean_square, axis=1), least)
    total = own.df.sum(axis=0)
    sampling = sound.sampling_df(total, (own.df > 0).sum(axis=0))
    in_units = _in_units(own.squares, own.df, own.worst, units)
    value = ratio(in_units[0], total)
    floor = ratio((own.df * (least / units)[:, None]).sum(axis=0), total)
    reference, reference_df = _reference(value, sampling, sound)
    reference = np.maximum(reference, floor)
    sd = np.sqrt(ratio(own.squares.sum(axis=0), total))
    p = _excess(*in_units, sampling, (reference, reference_df), sound)
    return ScatterTest(
        p=np.where(sampling >= sound.fewest_df, p, np.nan),
        sd=sd,
        others_sd=np.sqrt(reference * ratio((own.df * units[:, None]).sum(axis=0), total)),
        reference=reference,
        reference_df=reference_df,
        units=units,
    )


def _in_units(
    squares: Matrix, df: Matrix, worst: Matrix, units: Matrix
) -> tuple[Matrix, Matrix, Matrix]:
    per = units[:, None]
    return (squares / per).sum(axis=0), df.sum(axis=0), (worst / per).max(axis=0, initial=0.0)


def _excess(
    squares: Matrix,
    df: Matrix,
    worst: Matrix,
    sampling_df: Matrix,
    reference: tuple[Matrix, Matrix],
    sound: Soundness,
) -> Matrix:
    f = ratio(ratio(squares, df), reference[0])
    rest = ratio(ratio(squares - worst, df - 1.0), reference[0])
    p = f_upper_tails(f, sound.effective_df(sampling_df), reference[1])
    is_carried = np.nan_to_num(rest) > sound.carried**2
    return np.where(np.isnan(f) | is_carried, p, 1.0)


def _reference(values: Matrix, sampling_df: Matrix, sound: Soundness) -> tuple[Matrix, Matrix]:
    """Average the others, odd ones left out, and say what the average is worth in df."""
    everybody = np.tile(values / _median_of_chi_square(sampling_df), (values.size, 1))
    np.fill_diagonal(everybody, np.nan)
    middle = median_of_known(everybody, axis=1)
    middle[(~np.isnan(everybody)).sum(axis=1) < sound.fewest_others] = np.nan
    is_near = (np.tile(values, (values.size, 1)) <= sound.odd * middle[:, None]) & ~np.isnan(
        everybody
    )
    weights = np.where(is_near, np.nan_to_num(sound.effective_df(sampling_df)), 0.0)
    df = weights.sum(axis=1)
    return ratio(weights @ np.nan_to_num(values), np.where(np.isnan(middle), 0.0, df)), df


def _median_of_chi_square(df: Matrix) -> Matrix:
    """Return the median of chi-square / df (Wilson EB, Hilferty MM 1931, PNAS 17:684)."""
    return (1.0 - 2.0 / (9.0 * np.where(df > 0, df, np.nan))) ** 3


@dataclass(frozen=True, slots=True)
class FollowingTest:
    """How much of the others' differences an evaluator follows; shape (evaluators,).

    Attributes
    ----------
    p
        Chance that somebody who follows the least that is sound seems to follow so little.
    p_turned
        The same of somebody who follows nothing and scatters as much as this evaluator: small where
        the sets are turned round.
    correlation
        With the others, pooled over the attributes.
    slope
        Share that is followed, the others' own scatter allowed for; NaN where it drowns them.
    judged
        On which attributes, those on which the others separate the sets, shape (attributes,
        evaluators).
    """

    p: Matrix
    p_turned: Matrix
    correlation: Matrix
    slope: Matrix
    judged: npt.NDArray[np.bool_]


def following_test(like: ProfileAgreement, sound: Soundness) -> FollowingTest:
    """Test the slope of each evaluator's set means on the others', pooled over the attributes.

    Notes
    -----
    Student's t of the slope against `Soundness.follows`, with the variance of a set mean taken from
    the others, as in `scatter_test`. The others' median is itself uncertain, which
    flattens every slope (errors in variables; Fuller WA 1987, Measurement Error Models, 1.1): what
    scatter alone puts into its sum of squares is taken off. It is asked only on attributes on which
    the others separate the sets, as ISO 11132:2021 does (from memory): by ranks as well, which
    neither one set that scatters nor rare low scores deceive.
    """
    left, df = like.residual_square()
    test = scatter_test(ResidualScatter(left, df, np.zeros_like(left)), sound)
    is_separated = _passed(like.others_p, sound.separates)
    like = like.where(is_separated)
    rated = like.sets > 0
    # The median of the others as uncertain as one mean of a set; that is in the residuals too.
    unsure = np.nan_to_num(ratio(_MEDIAN_LOSS, like.others))
    loss = ratio((unsure * rated).sum(axis=0), rated.sum(axis=0))
    variance = test.reference / (1.0 + loss)
    noise = np.maximum(like.sets - 1.0, 0.0) * variance * test.units[:, None] * unsure
    weights = 1.0 / test.units
    weighted = np.sqrt(weights)[:, None, None] * like.profile
    apart = np.square(weighted).sum(axis=(0, 2))
    together = np.square(weighted.sum(axis=0)).sum(axis=1)
    spread = (1.0 - sound.alike) * apart + sound.alike * together
    others_square = weights @ like.others_square
    product, square = weights @ like.product, others_square - weights @ noise

    def t(share: float) -> Matrix:
        certain = variance * (1.0 + share**2 * loss)
        return ratio(product - share * square, np.sqrt(spread * certain))

    p = t_lower_tails(t(sound.follows), test.reference_df)
    # As good as F of the sets among the others.
    f = ratio(others_square, weights @ noise)
    sets_df = np.maximum(like.sets - 1.0, 0.0).sum(axis=0)
    is_asked = f_upper_tails(f, sets_df, test.reference_df) <= sound.separates
    certain = variance * (1.0 + sound.follows**2 * loss)
    rest = ratio(_without_worst(like, weights, sound.follows), np.sqrt(spread * certain))
    is_asked &= t_lower_tails(rest, test.reference_df) <= sound.rest
    own = weights @ like.own_square
    own_value = ratio((left * weights[:, None]).sum(axis=0), df.sum(axis=0))
    unasked = np.where(np.isnan(test.reference), np.nan, 1.0)
    own_excess = np.sqrt(np.fmax(ratio(own_value, test.reference), 1.0))
    return FollowingTest(
        p=np.where(np.isnan(p), unasked, np.where(is_asked, p, 1.0)),
        p_turned=t_lower_tails(t(0.0) / own_excess, test.reference_df),
        correlation=ratio(product, np.sqrt(own * others_square)),
        slope=ratio(product, square),
        judged=is_separated,
    )


def _passed(p: Matrix, level: float) -> npt.NDArray[np.bool_]:
    """Tell on which attributes each evaluator's others separate the sets (Benjamini-Hochberg)."""
    adjusted = np.array([benjamini_hochberg(column) for column in p.T]).reshape(p.T.shape).T
    return np.asarray(adjusted <= level, dtype=np.bool_)


def _without_worst(like: ProfileAgreement, weights: Matrix, share: float) -> Matrix:
    """Return the sum of products against a share of the others, the worst set left out."""
    products = weights[:, None, None] * like.profile * (like.own - share * like.profile)
    # Taking a value out moves the mean of the rest as well: n / (n - 1) of its product goes.
    goes = products * np.nan_to_num(ratio(like.sets, like.sets - 1.0))[:, :, None]
    rest: Matrix = products.sum(axis=(0, 2)) - goes.min(axis=(0, 2), initial=0.0)
    return rest


def sameness_p(
    scores: Matrix, evaluator: Codes, attribute: Codes, evaluators: int, sound: Soundness
) -> Matrix:
    """Return the chance that somebody gives the same score throughout, attribute by attribute.

    Returns
    -------
    numpy.ndarray
        Shape (evaluators,): q to the power of the scores after an attribute's first, where q is the
        share of the others' scores that equal their own commonest one on the attribute. 1 for who
        changed a score; NaN without others, or with one score of each attribute.
    """
    known = ~np.isnan(scores)
    group = evaluator[known] * (attribute.max(initial=0) + 1) + attribute[known]
    levels, level = np.unique(scores[known], return_inverse=True)
    pairs, counts = np.unique(group * max(levels.size, 1) + level, return_counts=True)
    groups, first = np.unique(pairs // max(levels.size, 1), return_index=True)
    who = groups // (attribute.max(initial=0) + 1)
    number = np.add.reduceat(counts, first) if first.size else counts
    commonest = np.maximum.reduceat(counts, first) if first.size else counts

    def summed(values: npt.NDArray[np.int64]) -> Matrix:
        return np.bincount(who, values, evaluators).astype(np.float64)

    given, same = summed(number), summed(commonest)
    parts = np.bincount(who, minlength=evaluators)
    share = ratio(same.sum() - same, given.sum() - given)
    after_first = sound.sampling_df(given - parts, parts.astype(np.float64))
    chance = np.where(same == given, share**after_first, np.where(np.isnan(share), np.nan, 1.0))
    return np.where(given > parts, chance, np.nan)


def pooled_p(p: Matrix) -> Matrix:
    """Adjust for asking over all attributes and on each of them (Bonferroni, weighted).

    Parameters
    ----------
    p
        Shape (1 + attributes, evaluators): over all attributes first, then on each; or of shape
        (1, evaluators) where there is one. NaN where it cannot be asked.
    """
    best: Matrix = np.fmin.reduce(p * _weights(p), axis=0)
    return np.minimum(best, 1.0)


def best_place(p: Matrix) -> int:
    """Return which row of one evaluator's p, weighted as in `pooled_p`, is the smallest."""
    return int(np.nanargmin(p * _weights(p[:, None])[:, 0]))


def _weights(p: Matrix) -> Matrix:
    """Return what each p is multiplied by: most of the level is for all attributes together."""
    asked = (~np.isnan(p[1:])).sum(axis=0)
    over_all = np.where(asked > 0, 1.0 / OVER_ALL, 1.0)
    return np.vstack([over_all, np.tile(asked / (1.0 - OVER_ALL), (len(p) - 1, 1))])
