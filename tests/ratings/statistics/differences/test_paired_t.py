"""A set judged by its own scatter, beside scipy."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats.weightstats import DescrStatsW

from ratings.statistics.differences.paired_t import equivalence_p, own_mean_if_wider


def test_that_it_is_students_t_of_scipy_and_two_one_sided_tests():
    own = np.array([0.5, 1.5, -0.5, 2.0, np.nan, 1.0])
    known = own[~np.isnan(own)]
    found = own_mean_if_wider(own, 0.1)
    expected = stats.ttest_1samp(known, 0.0)
    assert found.p == pytest.approx(expected.pvalue)
    assert found.df == expected.df
    above = stats.ttest_1samp(known, -1.5, alternative="greater").pvalue
    below = stats.ttest_1samp(known, 1.5, alternative="less").pvalue
    assert found.equivalent_p(1.5) == pytest.approx(max(above, below))


def test_that_a_set_within_the_common_scatter_is_left_to_it():
    own = np.array([0.5, 1.5, -0.5, 2.0])
    se = own.std(ddof=1) / 2
    assert own_mean_if_wider(own, se) is None
    assert own_mean_if_wider(own, se / 1.3) is not None
    assert own_mean_if_wider(own[:1], 0.0) is None
    assert own_mean_if_wider(np.full(4, 1.0), 0.1) is None


def paired(differences):
    number = differences.size
    return differences.mean(), differences.std(ddof=1) / np.sqrt(number), number - 1


def test_that_paired_scores_equal_r(reference):
    case = reference("signed_rank")
    scores = np.array(case["scores"], dtype=float)
    mean, se, df = paired(scores[:, 0] - scores[:, 1])
    assert (mean, mean / se, df) == pytest.approx(
        tuple(case["paired_t"][key] for key in ("mean", "t", "df"))
    )
    for margin, p in case["equivalence"].items():
        assert equivalence_p(mean, se, df, float(margin)) == pytest.approx(p, abs=1e-9)


def test_that_the_published_differences_equal_r(reference):
    case = reference("hollander_wolfe")["depression"]
    scores = np.array(case["scores"])
    figures = paired(scores[:, 0] - scores[:, 1])
    assert len(case["equivalence"]) == 2
    for margin, p in case["equivalence"].items():
        assert equivalence_p(*figures, float(margin)) == pytest.approx(p, abs=1e-9)


@given(st.floats(-2, 2), st.floats(0.05, 1), st.floats(2, 60), st.floats(0.1, 2))
def test_that_equivalence_is_the_90_percent_interval_inside_the_margin(mean, se, df, margin):
    half = stats.t.ppf(0.95, df) * se
    inside = abs(mean) + half - margin
    if abs(inside) > 1e-6:
        assert (equivalence_p(mean, se, df, margin) < 0.05) == (inside < 0)


def test_that_statsmodels_says_the_same():
    differences = np.random.default_rng(3).normal(0.1, 0.4, 12)
    theirs = DescrStatsW(differences).ttost_mean(-0.5, 0.5)[0]
    assert equivalence_p(*paired(differences), 0.5) == pytest.approx(theirs)
    assert equivalence_p(0.2, 0.0, 5, 0.5) == 0.0
    assert equivalence_p(0.7, 0.0, 5, 0.5) == 1.0
