"""Intraclass correlations against R, the paper, pingouin and the degenerate tables."""

import math

import numpy as np
import pandas as pd
import pingouin
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy import stats

from ratings.statistics.agreement.icc import FORMS, intraclass_correlations

IN_R = {
    "": "value", "F": "f", "df1": "df1", "df2": "df2", "p": "p",
    "lower95": "lower", "upper95": "upper",
}  # fmt: skip
complete_panels = st.tuples(st.integers(2, 6), st.integers(2, 6)).flatmap(
    lambda shape: arrays(
        np.float64, shape, elements=st.integers(4, 40).map(lambda quarters: quarters / 4)
    )
)


#: Figures of ICC(A,k) in which irr counts k twice, see `intraclass_correlations`.
K_COUNTED_TWICE = ("df2", "p", "lower", "upper")


def test_that_every_figure_of_every_form_equals_r(reference):
    case = reference("icc_six_targets_four_judges")
    found = intraclass_correlations(np.array(case["scores"], dtype=float))
    assert set(case["expected"]) == set(FORMS)
    for form, figures in case["expected"].items():
        for name, expected in figures.items():
            if form == "ICC(A,k)" and name in K_COUNTED_TWICE:
                continue
            assert getattr(found.form(form), name) == pytest.approx(expected, rel=1e-8)


def test_that_the_values_round_to_those_in_the_paper(reference):
    case = reference("icc_six_targets_four_judges")
    found = intraclass_correlations(np.array(case["scores"], dtype=float))
    for form, printed in case["printed_2_decimals"].items():
        assert round(found.form(form).value, 2) == printed


def test_that_the_other_convention_for_p_is_the_p_of_the_consistency_form(reference):
    case = reference("icc_six_targets_four_judges")
    found = intraclass_correlations(np.array(case["scores"], dtype=float))
    other = case["other_convention"]
    assert found.form("ICC(C,1)").p == pytest.approx(other["p of ICC(A,1)"], rel=1e-8)
    averaged = found.form("ICC(A,k)")
    ends = averaged.lower, averaged.upper
    assert ends == pytest.approx(other["interval of ICC(A,k)"], rel=1e-8)


def stepped_up(value, k):
    """Return Spearman and Brown's reliability of the mean of k evaluators."""
    return k * value / (1 + (k - 1) * value)


@pytest.mark.parametrize("name", ["icc_irr_anxiety", "icc_irr_video"])
def test_that_the_interval_of_the_mean_is_that_of_one_evaluator_stepped_up(shared_case, name):
    case = shared_case(name)
    values = np.array(case["data"]["values"], dtype=float).T
    averaged = intraclass_correlations(values).form("ICC(A,k)")
    irr = {each["name"]: each["value"] for each in case["expected"]}
    k = len(values)
    for figure, end in (("lower95", averaged.lower), ("upper95", averaged.upper)):
        assert end == pytest.approx(stepped_up(irr[f"MW:ICC(A,1) {figure}"], k), rel=1e-8)
    assert averaged.p == pytest.approx(irr["MW:ICC(A,1) p"], rel=1e-8)


@pytest.mark.parametrize("name", ["icc_irr_anxiety", "icc_irr_video"])
def test_that_every_figure_equals_r_on_larger_tables(shared_case, name):
    case = shared_case(name)
    found = intraclass_correlations(np.array(case["data"]["values"], dtype=float).T)
    checked = 0
    for expected in case["expected"]:
        if expected["name"].startswith("MW:"):
            form, _, figure = expected["name"][3:].partition(" ")
            if form == "ICC(A,k)" and IN_R[figure] in K_COUNTED_TWICE:
                continue
            value = getattr(found.form(form), IN_R[figure])
            assert value == pytest.approx(expected["value"], rel=1e-8), expected["name"]
            checked += 1
    assert checked == 38


@pytest.mark.parametrize(
    ("name", "tolerance"), [("icc_incomplete_anxiety", 1e-5), ("icc_incomplete_video", 1e-4)]
)
def test_that_tables_with_holes_give_the_ratios_of_lmer(
    shared_case, crossed_table, name, tolerance
):
    case = shared_case(name)
    found = intraclass_correlations(crossed_table(case["data"]["rows"]))
    expected = {e["name"]: e["value"] for e in case["expected"]}
    agreement, consistency = found.form("ICC(A,1)"), found.form("ICC(C,1)")
    assert agreement.value == pytest.approx(expected["ICC(2,1) REML"], abs=tolerance)
    assert consistency.value == pytest.approx(
        expected["ICC(3,1) REML (rater variance excluded)"], abs=tolerance
    )
    assert found.missing > 0
    assert agreement.lower < agreement.value < agreement.upper
    assert "approximate" in agreement.reason


def test_that_one_way_icc_equals_the_printed_batches(shared_case):
    for name in ("icc_dyestuff", "icc_dyestuff2_singular"):
        case = shared_case(name)
        values = np.array([row[1] for row in case["data"]["rows"]]).reshape(6, 5).T
        found = intraclass_correlations(values).form("ICC(1,1)")
        expected = [e["value"] for e in case["expected"] if e["name"].startswith("ICC(1,1)")]
        assert found.value == pytest.approx(expected[0], rel=1e-9)


@pytest.mark.parametrize("spread", [0.0, 2.0])
def test_that_one_way_icc_follows_from_the_analysis_of_variance_in_scipy(spread):
    generator = np.random.default_rng(4)
    scores = generator.normal(0, 1, (5, 6)) + generator.normal(6, spread, (1, 6))
    f, p = stats.f_oneway(*scores.T)
    assert (f < 1) == (spread == 0)
    found = intraclass_correlations(scores).form("ICC(1,1)")
    assert (found.f, found.p) == pytest.approx((f, p), rel=1e-9)
    assert found.value == pytest.approx((f - 1) / (f + 4), rel=1e-9)


# pingouin itself calls pandas in a way that pandas 3.1 announces to drop.
@pytest.mark.filterwarnings("ignore:The inplace keyword")
@pytest.mark.parametrize(
    ("evaluators", "sets", "spread"), [(5, 7, 2.0), (3, 20, 1.0), (4, 20, 0.1)]
)
def test_that_pingouin_computes_the_same_live(evaluators, sets, spread):
    generator = np.random.default_rng(3)
    scores = generator.normal(6, 1, (evaluators, 1)) + generator.normal(0, spread, (1, sets))
    scores = scores + generator.normal(0, 1, (evaluators, sets))
    evaluator, set_ = np.indices(scores.shape)
    table = pd.DataFrame({"e": evaluator.ravel(), "s": set_.ravel(), "y": scores.ravel()})
    theirs = pingouin.intraclass_corr(table, targets="s", raters="e", ratings="y")
    ours = intraclass_correlations(scores)
    values = theirs["ICC"].to_numpy(dtype=float)
    assert [form.value for form in ours.forms] == pytest.approx(values, abs=1e-6)
    f = theirs["F"].to_numpy(dtype=float)
    assert [form.f for form in ours.forms] == pytest.approx(f, abs=1e-4)
    for form, (_, row) in zip(ours.forms, theirs.iterrows(), strict=True):
        # Rounded to two decimals there.
        assert (form.lower, form.upper) == pytest.approx(tuple(row["CI95"]), abs=0.0051), form
        # The agreement forms have another convention there, see the test above.
        if "A" not in form.form:
            own = row["df1"], row["df2"], row["pval"]
            assert (form.df1, form.df2, form.p) == pytest.approx(own, rel=1e-6)
    one, averaged = ours.form("ICC(A,1)"), ours.form("ICC(A,k)")
    for figure in ("value", "lower", "upper"):
        mean_of_all = stepped_up(getattr(one, figure), evaluators)
        assert getattr(averaged, figure) == pytest.approx(mean_of_all, rel=1e-8)
    assert averaged.p == one.p


def test_that_no_spread_between_the_sets_is_said_and_never_a_number():
    # The means of all sets are 5: the formulas would give -0.5, -0.67 and even 6.
    scores = np.array([[5, 5, 5], [6, 4, 5], [4, 6, 5], [5, 5, 5], [6, 4, 5], [4, 6, 5.0]]).T
    for form in intraclass_correlations(scores).forms:
        assert form.value is form.lower is form.upper is None
        assert form.reason == (
            "The evaluators contradict each other, so that on average no set differs."
        )


def test_that_complete_agreement_is_1_in_every_form():
    scores = np.array([[3, 5, 7, 9, 4, 6.0]] * 3)
    for form in intraclass_correlations(scores).forms:
        assert (form.value, form.lower, form.upper, form.p) == (1, 1, 1, 0)
        assert math.isinf(form.f)


def test_that_evaluators_apart_by_a_constant_are_consistent_but_do_not_agree():
    scores = np.array([[3, 5, 7, 9.0], [4, 6, 8, 10]])
    found = intraclass_correlations(scores)
    assert found.form("ICC(C,1)").value == 1
    between = np.var(scores.mean(axis=0), ddof=1)
    assert found.form("ICC(A,1)").value == pytest.approx(between / (between + 0.5))
    assert 0 <= found.form("ICC(A,1)").lower <= found.form("ICC(A,1)").upper <= 1


def test_that_one_evaluator_one_set_and_nothing_are_said():
    reasons = {
        intraclass_correlations(np.array(table, dtype=float)).forms[0].reason
        for table in ([[5, 6, 7]], [[5], [6]], [[np.nan, np.nan], [np.nan, np.nan]])
    }
    assert reasons == {
        "One evaluator cannot agree with anybody.",
        "With one set there is nothing to tell apart.",
        "There are no scores.",
    }


def test_that_holes_that_leave_nothing_to_compare_are_said():
    scores = np.array([[5.0, np.nan], [np.nan, 7.0]])
    for form in intraclass_correlations(scores).forms:
        assert form.value is None
        assert form.reason == "Too many scores are missing to tell."


def test_that_a_scale_that_is_rounding_alone_gives_no_coefficient():
    scores = np.array([[8.0, 3.5, 10.0, 5.5], [1.5, 10.0, 4.5, 9.5], [5.5, 6.75, 2.5, 5.75]])
    for table in (scores, scores * 4, scores[::-1]):
        form = intraclass_correlations(table).form("ICC(A,k)")
        assert form.value is None
        assert form.reason == "The sets differ too little beside the evaluators' scatter."


@given(complete_panels)
@settings(max_examples=60, deadline=None)
def test_that_order_shift_and_unit_do_not_matter(scores):
    before = intraclass_correlations(scores)
    for after in (
        intraclass_correlations(scores[::-1]),
        intraclass_correlations(scores[:, ::-1] + 2.5),
        intraclass_correlations(scores * 4),
    ):
        for one, other in zip(before.forms, after.forms, strict=True):
            if one.value is None:
                assert other.value is None
            else:
                assert one.value <= 1
                assert one.lower is None or one.lower <= one.value <= one.upper
                assert other.value == pytest.approx(one.value, rel=1e-6, abs=1e-9)


@pytest.mark.slow
def test_that_the_intervals_cover_at_their_nominal_rate():
    generator = np.random.default_rng(22)
    true = {"ICC(A,1)": 1 / 1.75, "ICC(C,1)": 1 / 1.5}
    hits = dict.fromkeys(true, 0)
    tables = 1000
    for _ in range(tables):
        scores = generator.normal(0, 1, (1, 8)) + generator.normal(0, 0.5, (6, 1))
        found = intraclass_correlations(scores + generator.normal(0, math.sqrt(0.5), (6, 8)))
        for form, value in true.items():
            hits[form] += found.form(form).lower <= value <= found.form(form).upper
    # Exact for the C form: 0.95 within three standard errors; approximate for the A form.
    assert hits["ICC(C,1)"] / tables == pytest.approx(0.95, abs=0.021)
    assert hits["ICC(A,1)"] / tables == pytest.approx(0.95, abs=0.03)


@pytest.mark.slow
def test_that_the_approximate_interval_of_a_table_with_holes_covers_nearly_as_often():
    generator = np.random.default_rng(23)
    hits, told = 0, 0
    for _ in range(500):
        scores = generator.normal(0, 1, (1, 10)) + generator.normal(0, 0.5, (8, 1))
        scores = scores + generator.normal(0, math.sqrt(0.5), (8, 10))
        scores[generator.random(scores.shape) < 0.1] = np.nan
        form = intraclass_correlations(scores).form("ICC(A,1)")
        if form.lower is not None:
            told += 1
            hits += form.lower <= 1 / 1.75 <= form.upper
    assert told > 400
    assert 0.90 <= hits / told <= 0.99
