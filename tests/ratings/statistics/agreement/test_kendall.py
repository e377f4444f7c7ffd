"""Kendall's W against R, printed tables, SciPy and its own properties."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy import stats

from ratings.statistics.agreement.kendall import concordance, friedman_test, smallest_significant_w

half_points = st.integers(2, 20).map(lambda halves: halves / 2)
panels = st.tuples(st.integers(2, 5), st.integers(2, 4)).flatmap(
    lambda shape: arrays(np.float64, shape, elements=half_points)
)


def test_that_w_and_its_approximations_equal_r(reference):
    for case in reference("kendall"):
        found = concordance(np.array(case["scores"], dtype=float))
        for name, expected in case["expected"].items():
            assert getattr(found, name) == pytest.approx(expected, rel=1e-9), (case["name"], name)


def test_that_w_rounds_to_the_printed_values(reference):
    printed = [case for case in reference("kendall") if "printed" in case]
    assert len(printed) == 2
    for case in printed:
        found = concordance(np.array(case["scores"], dtype=float))
        for name, (value, decimals) in case["printed"].items():
            assert round(getattr(found, name), decimals) == value, (case["name"], name)


@pytest.mark.parametrize("name", ["kendall_irr_anxiety", "kendall_irr_video"])
def test_that_w_equals_r_on_tables_with_many_ties(shared_case, name):
    case = shared_case(name)
    found = concordance(np.array(case["data"]["values"], dtype=float).T)
    expected = {e["name"]: e["value"] for e in case["expected"] if "printed_decimals" not in e}
    assert found.w == pytest.approx(expected["W"], rel=1e-9)
    assert found.w_uncorrected == pytest.approx(expected["W_uncorrected"], rel=1e-9)
    assert found.chi_square == pytest.approx(expected["friedman chisq"], rel=1e-9)
    assert found.p_chi_square == pytest.approx(expected["irr p"], rel=1e-9)
    assert found.p_f == pytest.approx(expected["p_F"], rel=1e-9)
    assert found.p_exact is None


def test_that_the_exact_p_is_the_share_of_all_orders_that_do_as_well():
    scores = np.array([[7, 7, 5], [6, 8, 8], [5.5, 9, 4]])
    ranks = np.apply_along_axis(stats.rankdata, 1, scores)
    spread = np.square(ranks.sum(axis=0) - 6).sum()
    sums = [
        np.square(np.sum(orders, axis=0) - 6).sum()
        for orders in itertools.product(*(itertools.permutations(row) for row in ranks))
    ]
    share = np.mean(np.array(sums) >= spread - 1e-9)
    assert concordance(scores).p_exact == pytest.approx(share, abs=1e-12)


def test_that_chi_square_is_wrong_where_the_exact_p_is_right():
    # 4 evaluators, 4 sets, S = 58, from Kendall's tables: exact .0141, F .0119, chi-square .0336.
    scores = np.array([[1, 2, 3, 4], [1, 2, 3, 4], [1, 3, 2, 4], [2, 1, 4, 3]], dtype=float)
    found = concordance(scores)
    assert found.s == 58
    assert round(found.p_exact, 4) == 0.0141
    assert round(found.p_f, 4) == 0.0119
    assert round(found.p_chi_square, 4) == 0.0336
    assert found.p == found.p_exact


def test_that_an_average_of_repeats_keeps_its_ties():
    seven = (7.1 + 7.1 + 7.1) / 3
    assert seven != 7.1
    broken = np.array([[seven, 7.1, 5.0], [8.0, 6.0, 4.0], [7.0, 6.5, 3.0]])
    whole = np.array([[7.1, 7.1, 5.0], [8.0, 6.0, 4.0], [7.0, 6.5, 3.0]])
    assert concordance(broken) == concordance(whole)


def test_that_the_smallest_w_agrees_with_the_enumerated_tables():
    # S from Friedman's tables over its largest value: 52/80, 18/18, 42/72.
    assert smallest_significant_w(4, 4) == pytest.approx(52 / 80)
    assert smallest_significant_w(3, 3) == pytest.approx(1.0)
    assert smallest_significant_w(6, 3) == pytest.approx(42 / 72)
    assert smallest_significant_w(2, 3) is None
    assert smallest_significant_w(1, 4) is None


def test_that_the_smallest_w_of_a_large_panel_is_where_f_becomes_significant():
    w = smallest_significant_w(20, 12)
    df1 = 11 - 2 / 20
    f = 19 * w / (1 - w)
    assert stats.f.sf(f, df1, 19 * df1) == pytest.approx(0.05, abs=1e-9)


def test_that_undefined_tables_say_why():
    nan = np.nan
    assert concordance(np.array([[1.0, 2.0]])).reason == "One evaluator cannot agree with anybody."
    assert concordance(np.array([[1.0], [2.0]])).reason == "One set cannot be ranked."
    assert concordance(np.full((3, 4), 6.0)).reason == "Nobody told the sets apart."
    assert concordance(np.full((0, 0), nan)).reason == "There are no scores."
    assert concordance(np.full((2, 3), nan)).reason == "There are no scores."
    holes = np.array([[5.0, nan], [nan, 6.0], [4.0, nan]])
    assert concordance(holes).reason == "No evaluator rated every set."
    for table in (np.array([[1.0, 2.0]]), np.full((3, 4), 6.0), holes):
        found = concordance(table)
        assert found.w is found.p is found.smallest_w is None


def test_that_two_evaluators_and_two_sets_have_an_exact_p_and_no_f():
    found = concordance(np.array([[5.0, 6.0], [3.0, 8.0]]))
    assert (found.w, found.p_exact, found.f) == (1.0, 0.5, None)


def test_that_complete_agreement_has_an_infinite_f_and_no_interval():
    found = concordance(np.array([[5.0, 6.0, 7.0]] * 4))
    assert found.w == 1
    assert math.isinf(found.f)
    assert found.p_f == 0
    assert found.lower is found.upper is None


def test_that_an_evaluator_with_a_hole_is_left_out_and_counted():
    whole = np.array([[5, 6, 7, 9], [4, 6, 5, 8], [3, 5, 6, 7.0]])
    with_hole = np.vstack([whole, [5, np.nan, 6, 7]])
    found = concordance(with_hole)
    assert found.left_out == 1
    assert found.w == concordance(whole).w


def test_that_a_set_with_holes_is_left_out_when_that_keeps_more_scores():
    scores = np.array([[5, 6, 7, 9, np.nan], [4, 6, 5, np.nan, 8], [3, 5, 6, 7.0, 2]])
    found = concordance(scores)
    assert (found.evaluators, found.sets) == (3, 3)
    assert (found.left_out, found.sets_left_out) == (0, 2)
    assert found.w == concordance(scores[:, :3]).w


@given(panels)
@settings(max_examples=60, deadline=None)
def test_that_w_lies_between_0_and_1_and_equals_friedman_in_scipy(scores):
    found = concordance(scores)
    if found.w is None:
        assert np.ptp(scores, axis=1).max() == 0
        return
    assert 0 <= found.w <= 1
    assert 0 <= found.p_exact <= 1
    if scores.shape[1] >= 3:
        chi_square, p = stats.friedmanchisquare(*scores.T)
        assert found.chi_square == pytest.approx(chi_square, abs=1e-9)
        assert found.p_chi_square == pytest.approx(p, abs=1e-9)


@given(panels, st.randoms(use_true_random=False))
@settings(max_examples=60, deadline=None)
def test_that_order_level_and_monotone_stretch_do_not_matter(scores, random):
    rows = list(range(len(scores)))
    random.shuffle(rows)
    levels = np.array([random.uniform(-3, 3) for _ in rows])[:, None]
    before = concordance(scores)
    for after in (
        concordance(scores[rows]),
        concordance(scores + levels),
        concordance(np.exp(scores / 3)),
    ):
        assert after.w == pytest.approx(before.w, abs=1e-12) if before.w else not after.w
        assert after.p_exact == before.p_exact


@pytest.mark.slow
def test_that_the_exact_p_is_uniform_when_everybody_guesses():
    generator = np.random.default_rng(20)
    for evaluators, sets, step in ((4, 4, 0.01), (6, 3, 0.01), (5, 4, 3.0)):
        guesses = np.round(generator.uniform(1, 10, (2000, evaluators, sets)) / step) * step
        p = np.array([concordance(table).p_exact or 1.0 for table in guesses])
        for alpha in (0.01, 0.05, 0.1, 0.25):
            share = np.mean(p <= alpha)
            # A p that comes in steps may fall short of alpha, never exceed it but by chance.
            assert share <= alpha + 3 * math.sqrt(alpha * (1 - alpha) / 2000)
        assert np.mean(p <= 0.25) > 0.15


def test_that_the_interval_is_a_jackknife_on_the_log_of_the_ratio_of_variances():
    scores = np.array([[5, 7, 6, 8], [6, 5, 7, 9], [8, 4, 6, 7.0], [4, 6, 5, 9], [5, 6, 9, 7]])
    k = len(scores)

    def mean_correlation(rows):
        return np.mean(
            [stats.spearmanr(a, b).statistic for a, b in itertools.combinations(rows, 2)]
        )

    without = [mean_correlation(np.delete(scores, row, axis=0)) for row in range(k)]
    error = math.sqrt((k - 1) * np.var(without)) * (k - 1) / k
    found = concordance(scores)
    reach = stats.t.ppf(0.975, k - 1) * error / (found.w * (1 - found.w))
    middle = math.log(found.w / (1 - found.w))
    expected = [1 / (1 + math.exp(-end)) for end in (middle - reach, middle + reach)]
    assert [found.lower, found.upper] == pytest.approx(expected)


def test_that_evaluators_who_happen_to_differ_alike_leave_an_interval():
    # Each pair has the same rank correlation, so that leaving one out changes nothing.
    found = concordance(np.array([[1, 2, 3, 4], [2, 3, 1, 4], [3, 1, 2, 4.0]]))
    assert found.mean_rank_correlation == pytest.approx(0.4)
    assert found.lower < 0.2 < found.w < 0.9 < found.upper


def test_that_no_common_order_at_all_begins_at_zero():
    found = concordance(np.array([[1, 2, 3], [2, 3, 1], [3, 1, 2.0]]))
    assert found.w == found.lower == 0
    assert 0.5 < found.upper < 1


@pytest.mark.slow
@pytest.mark.parametrize("uneven", [0.0, 0.5])
@pytest.mark.parametrize("spread", [0.0, 1.0, 2.0])
@pytest.mark.parametrize("evaluators", [3, 4, 6, 9, 15])
def test_that_the_interval_covers_w_at_its_nominal_rate(evaluators, spread, uneven):
    generator = np.random.default_rng(21)
    true = np.linspace(0, spread, 4)

    def drawn(panels, evaluators):
        scatter = np.exp(generator.normal(0, uneven, (panels, evaluators, 1)))
        return true + scatter * generator.normal(size=(panels, evaluators, 4))

    one, other = np.moveaxis(stats.rankdata(drawn(6000, 2), axis=2) - 2.5, 1, 0)
    correlation = (one * other).sum() / np.square(one).sum()
    w = (1 + (evaluators - 1) * correlation) / evaluators
    hits = []
    for table in drawn(400, evaluators):
        found = concordance(table)
        hits.append(found.lower is None or found.lower <= w <= found.upper)
    # The nominal 95 % less three standard errors of 400 panels, or more: it is wide for few.
    assert np.mean(hits) >= 0.917


def test_that_the_test_equals_r(reference):
    case = reference("friedman")
    found = friedman_test(np.array(case["scores"], dtype=float))
    for name in ("chi_square", "df", "p_chi_square", "f", "f_df1", "f_df2", "p_f"):
        assert getattr(found, name) == pytest.approx(case[name], rel=1e-9), name


def test_that_an_undefined_test_says_why():
    found = friedman_test(np.full((3, 3), 5.0))
    assert found.chi_square is found.p_f is None
    assert found.reason == "Nobody told the sets apart."


def test_that_f_is_known_for_two_evaluators_and_two_sets():
    found = friedman_test(np.array([[5.0, 6], [6, 5]]))
    assert (found.f, found.f_df1, found.f_df2, found.p_f) == (0.0, 1.0, 1.0, 1.0)
