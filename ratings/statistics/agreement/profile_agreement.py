"""Each evaluator's set means beside the median of the others."""

from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

from ratings.statistics.distributions import f_upper_tails
from ratings.statistics.missing import mean_of_known, median_of_known, ratio
from ratings.statistics.ranks import doubled_ranks

Matrix = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]

#: Rounds of sweeping medians; a complete table stands still after two or three.
_ROUNDS = 4


@dataclass(frozen=True, slots=True)
class ProfileAgreement:
    """Sums over the sets of each attribute, shape (attributes, evaluators) unless said otherwise.

    Attributes
    ----------
    profile
        Median over the others of each set, about its own mean, shape (attributes, evaluators,
        sets); 0 where the evaluator has no score of the set.
    own
        The evaluator's own set means in the same way.
    others_square, product, own_square
        Sums of squares and products of both.
    sets
        Sets that count: rated by the evaluator and by two others at least.
    others
        Mean number of others behind a median.
    others_p
        Chance that others who hear no difference separate the sets as well, see `separation_p`.
    """

    profile: Matrix
    own: Matrix
    others_square: Matrix
    product: Matrix
    own_square: Matrix
    sets: Matrix
    others: Matrix
    others_p: Matrix

    def on(self, part: slice | Codes) -> "ProfileAgreement":
        """Keep some attributes."""
        return ProfileAgreement(*(getattr(self, each.name)[part] for each in fields(self)))

    def where(self, counts: npt.NDArray[np.bool_]) -> "ProfileAgreement":
        """Keep some attributes of each evaluator, shape (attributes, evaluators)."""
        pictures = (np.where(counts[:, :, None], each, 0.0) for each in (self.profile, self.own))
        sums = (np.where(counts, getattr(self, each.name), 0.0) for each in fields(self)[2:])
        return ProfileAgreement(*pictures, *sums)

    def residual_square(self) -> tuple[Matrix, Matrix]:
        """Return what is left of the own set means after the own slope, and its df; 3 sets on."""
        explained = ratio(np.square(self.product), self.others_square)
        df = np.maximum(self.sets - 2.0, 0.0)
        return np.maximum(self.own_square - np.nan_to_num(explained), 0.0) * (df > 0), df


def profile_agreement(set_means: Matrix) -> ProfileAgreement:
    """Compare each evaluator with the median of the others.

    Parameters
    ----------
    set_means
        Shape (attributes, evaluators, sets), in score points; NaN is missing.

    Notes
    -----
    Levels are swept out by medians first (Tukey JW 1977, Exploratory Data Analysis, ch. 11), so
    that neither a stray score nor an odd evaluator moves what the others are judged by.
    """
    centred = without_levels(set_means)
    profile, others = median_of_others(centred)
    counts = ~np.isnan(centred) & (others >= 2)
    number = counts.sum(axis=2).astype(np.float64)

    def about_mean(values: Matrix) -> Matrix:
        mean = mean_of_known(np.where(counts, values, np.nan), axis=2)
        return np.where(counts, values - mean[:, :, None], 0.0)

    theirs, own = about_mean(profile), about_mean(centred)
    return ProfileAgreement(
        profile=theirs,
        own=own,
        others_square=_no_dust(np.square(theirs).sum(axis=2)),
        product=(theirs * own).sum(axis=2),
        own_square=_no_dust(np.square(own).sum(axis=2)),
        sets=number,
        others=np.nan_to_num(ratio((others * counts).sum(axis=2), number)),
        others_p=separation_p(set_means),
    )


def separation_p(set_means: Matrix) -> Matrix:
    """Return the p of each evaluator's others separating the sets, by ranks.

    Parameters
    ----------
    set_means
        As for `profile_agreement`.

    Returns
    -------
    numpy.ndarray
        Shape (attributes, evaluators); NaN where ranks give no answer.

    Notes
    -----
    Analysis of variance of ranks within each evaluator: of a complete table Friedman's test with
    the F of Iman RL, Davenport JM (1980), Communications in Statistics A9:571-595. Ranks, because
    one set that scatters or a rare low score separates nothing.
    """
    known = ~np.isnan(set_means)
    last = np.where(known, set_means, np.inf).reshape(-1, set_means.shape[2])
    ranks = np.where(known, doubled_ranks(last).reshape(known.shape), np.nan)
    ranks = np.nan_to_num(ranks - mean_of_known(ranks, axis=2)[:, :, None])

    def of_others(values: Matrix) -> Matrix:
        rest: Matrix = values.sum(axis=1, keepdims=True) - values
        return rest

    raters, total = (
        of_others(known.astype(np.float64)),
        of_others(np.asarray(np.square(ranks).sum(axis=2))),
    )
    between = np.nan_to_num(ratio(np.square(of_others(ranks)), raters)).sum(axis=2)
    sets_df = np.maximum((raters > 0).sum(axis=2) - 1.0, 0.0)
    df = raters.sum(axis=2) - of_others(np.asarray(known.any(axis=2), dtype=np.float64)) - sets_df
    f = ratio(ratio(between, sets_df), np.maximum(ratio(total - between, df), 1e-9))
    p = f_upper_tails(f, sets_df, df)
    return np.where((total > 0) & (df > 0) & (sets_df > 0), p, np.nan)


def _no_dust(squares: Matrix) -> Matrix:
    return np.where(squares < 1e-12, 0.0, squares)


def without_levels(set_means: Matrix) -> Matrix:
    """Sweep out each evaluator's level by medians; shape (attributes, evaluators, sets)."""
    level = np.nan_to_num(median_of_known(set_means, axis=2))[:, :, None]
    for _ in range(_ROUNDS):
        panel = np.nan_to_num(median_of_known(set_means - level, axis=1))[:, None, :]
        level = np.nan_to_num(median_of_known(set_means - panel, axis=2))[:, :, None]
    return set_means - level


def median_of_others(values: Matrix) -> tuple[Matrix, Matrix]:
    """Return the median of an evaluator's others, shape as above, and of how many it is."""
    medians = np.empty_like(values)
    for evaluator in range(values.shape[1]):
        medians[:, evaluator] = median_of_known(np.delete(values, evaluator, axis=1), axis=1)
    known = ~np.isnan(values)
    return medians, known.sum(axis=1, keepdims=True) - known
