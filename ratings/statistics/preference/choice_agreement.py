"""Do the evaluators choose alike? Kendall's coefficient of agreement."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.statistics.distributions import chi_square_upper_tail

Matrix = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class ChoiceAgreement:
    """Kendall's coefficient of agreement u.

    Attributes
    ----------
    u
        1 when all choose alike, about 0 by chance; None when undefined, and `reason` says why.
    smallest_u
        The lowest value possible for so many evaluators; None when pairs got differing numbers
        of choices.
    agreeing
        Sum over pairs of the couples of evaluators that chose alike.
    chi_square, df, p
        Test that all only guess, with continuity correction; None unless every pair of sets got
        the same number of choices, three or more.
    """

    u: float | None = None
    smallest_u: float | None = None
    agreeing: float | None = None
    chi_square: float | None = None
    df: float | None = None
    p: float | None = None
    reason: str = ""


def choice_agreement(votes: Matrix, *, continuity: bool = True) -> ChoiceAgreement:
    """Compare the evaluators' choices two by two.

    Parameters
    ----------
    votes
        How often each evaluator chose the row over the column, shape (evaluators, sets, sets).
        "No difference" and missing choices count for neither side.
    continuity
        Whether the test takes one agreeing couple off.

    Notes
    -----
    Choices of two different evaluators on the same pair are compared, not an evaluator's with his
    own; u is the share that agrees, scaled to 1 for all and -1 for none. With one choice for each
    evaluator and pair that is Kendall's u; otherwise, and with pairs that not everyone decided, it
    is the same idea on what there is, and the test is left out.

    References
    ----------
    Kendall MG, Babington Smith B (1940) Biometrika 31:324-345.
    """
    own = votes + votes.transpose(0, 2, 1)
    return _agreement(
        votes.sum(axis=0), _couples(votes).sum(axis=0), _couples(own).sum(axis=0), continuity
    )


def _couples(number: Matrix) -> Matrix:
    return np.asarray(number * (number - 1) / 2, dtype=np.float64)


def _agreement(
    wins: Matrix, own_agreeing: Matrix, own_couples: Matrix, continuity: bool
) -> ChoiceAgreement:
    upper = np.triu_indices(len(wins), 1)
    judged = (wins + wins.T)[upper]
    couples = float((_couples(judged) - own_couples[upper]).sum())
    if couples <= 0:
        return ChoiceAgreement(reason="No two evaluators decided the same pair.")
    agreeing = float((_couples(wins) - own_agreeing).sum())
    u = 2 * agreeing / couples - 1
    evaluators = float(judged[0])
    if own_couples.any() or (judged != evaluators).any():
        return ChoiceAgreement(u, agreeing=agreeing)
    smallest = -1 / (evaluators - 1 + evaluators % 2)
    if evaluators < 3:
        return ChoiceAgreement(u, smallest, agreeing)
    chi_square, df = _chi_square(agreeing - continuity, len(judged), evaluators)
    p = chi_square_upper_tail(max(0.0, chi_square), df)
    return ChoiceAgreement(u, smallest, agreeing, chi_square, df, p)


def _chi_square(agreeing: float, pairs: int, evaluators: float) -> tuple[float, float]:
    couples = evaluators * (evaluators - 1) / 2
    expected = pairs * couples * (evaluators - 3) / (evaluators - 2) / 2
    df = pairs * evaluators * (evaluators - 1) / (evaluators - 2) ** 2
    return 4 / (evaluators - 2) * (agreeing - expected), df
