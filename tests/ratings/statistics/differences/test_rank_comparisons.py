"""Post-hoc comparisons of ranks and Quade's test against R."""

import numpy as np
import pytest
from scipy import stats

from ratings.statistics.adjusted_p import benjamini_hochberg, holm
from ratings.statistics.agreement.friedman import friedman_test
from ratings.statistics.differences.rank_comparisons import quade_test, rank_comparisons
from ratings.statistics.differences.signed_rank import signed_rank


def test_that_all_pairs_and_quade_equal_r(reference):
    case = reference("rank_comparisons")
    scores = np.array(case["scores"], dtype=float)
    found = rank_comparisons(scores)
    signed = [
        signed_rank(scores[:, i] - scores[:, j]).p_exact
        for i, j in zip(found.first, found.second, strict=True)
    ]
    ours = {
        "nemenyi": found.nemenyi,
        "conover": found.conover,
        "conover_holm": holm(found.conover),
        "exact": found.exact,
        "exact_holm": holm(found.exact),
        "siegel_holm": holm(found.siegel),
        "signed_rank": signed,
        "signed_rank_holm": holm(signed),
        "signed_rank_bh": benjamini_hochberg(signed),
    }
    for place, row in enumerate(case["pairs"]):
        assert (found.first[place], found.second[place]) == (row["first"], row["second"])
        for name, values in ours.items():
            assert values[place] == pytest.approx(row[name], abs=1e-8), name
    quade = quade_test(scores)
    assert (quade.f, quade.df1, quade.df2, quade.p) == pytest.approx(
        tuple(case["quade"][key] for key in ("F", "df1", "df2", "p"))
    )


def test_that_the_textbook_runners_come_out(reference):
    case = reference("hollander_wolfe")["runners"]
    (scores,) = (
        np.array(table["scores"]) for table in reference("kendall") if "22 runners" in table["name"]
    )
    friedman = friedman_test(scores)
    for name, value in case["friedman"].items():
        assert getattr(friedman, name) == pytest.approx(value, abs=1e-9), name
    found = rank_comparisons(scores)
    ours = {
        "nemenyi": found.nemenyi,
        "conover": found.conover,
        "conover_holm": holm(found.conover),
        "exact": found.exact,
        "exact_holm": holm(found.exact),
        "siegel_holm": holm(found.siegel),
    }
    for place, row in enumerate(case["pairs"]):
        assert (found.first[place], found.second[place]) == (row["first"], row["second"])
        for name, values in ours.items():
            assert values[place] == pytest.approx(row[name], abs=1e-6), name
    # Quade ranks the ranges; R ranked them unrounded, which breaks their ties.
    ranges = stats.rankdata(np.ptp(scores, axis=1))
    ranks = stats.rankdata(np.round(scores, 9), axis=1)
    stretched = ranks / np.ptp(ranks, axis=1, keepdims=True) * ranges[:, None]
    assert quade_test(stretched).p == pytest.approx(case["quade_unrounded"]["p"], abs=1e-9)
    assert quade_test(scores).f < case["quade_unrounded"]["F"]


def test_that_undefined_comparisons_are_none_and_perfect_order_is_certain():
    assert rank_comparisons(np.full((3, 3), 5.0)) is None
    assert rank_comparisons(np.array([[1.0, 2.0]])) is None
    assert quade_test(np.array([[1.0, 2.0], [1.0, 2.0]])) is None
    found = rank_comparisons(np.array([[1.0, 2.0, 3.0]] * 4))
    np.testing.assert_array_equal(found.conover, 0.0)
    assert (found.nemenyi > 0).all()
