"""Variance components against lme4, against each other and at their edges."""

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf
from scipy import stats

from ratings.statistics.agreement.components import one_way_components, two_way_components
from ratings.statistics.agreement.icc import intraclass_correlations
from ratings.statistics.mixed_models.crossed_model import fit_crossed


@pytest.mark.parametrize("name", ["icc_incomplete_anxiety", "icc_incomplete_video"])
def test_that_components_of_a_table_with_holes_equal_lmer(shared_case, crossed_table, name):
    case = shared_case(name)
    expected = {e["name"]: e for e in case["expected"]}
    table = crossed_table(case["data"]["rows"])
    found, one_way = two_way_components(table), one_way_components(table)
    ours = {
        "var_subject": found.sets,
        "var_rater": found.evaluators,
        "var_residual": found.residual,
        "logLik_REML": found.log_likelihood,
        "intercept": found.intercept,
        "one-way var_subject": one_way.sets,
        "one-way var_residual": one_way.residual,
    }
    checked = [key for key in ours if key in expected]
    assert len(checked) >= 4
    for key in checked:
        assert ours[key] == pytest.approx(expected[key]["value"], abs=expected[key]["tol_abs"])


def test_that_one_way_components_equal_lmer_also_at_zero(shared_case):
    for name in ("icc_dyestuff", "icc_dyestuff2_singular"):
        case = shared_case(name)
        expected = {e["name"]: e for e in case["expected"]}
        values = np.array([row[1] for row in case["data"]["rows"]]).reshape(6, 5).T
        found = one_way_components(values)
        for key, value in (("var_batch", found.sets), ("var_residual", found.residual)):
            assert value == pytest.approx(expected[key]["value"], abs=expected[key]["tol_abs"])
        assert found.boundary == (("sets",) if "singular" in name else ())


@pytest.mark.parametrize("spread", [0.0, 2.0])
def test_that_one_way_components_follow_from_the_analysis_of_variance_in_scipy(spread):
    scores = np.random.default_rng(4).normal(0, 1, (5, 6))
    scores += spread * np.arange(6)
    f, _ = stats.f_oneway(*scores.T)
    found = one_way_components(scores)
    within = scores.var(axis=0, ddof=1).mean()
    if spread:
        assert (found.sets, found.residual) == pytest.approx(((f - 1) * within / 5, within))
        assert found.boundary == ()
    else:
        # Below 1 there is nothing between the sets, and all scatter is residual.
        assert f < 1
        assert (found.sets, found.residual) == pytest.approx((0, scores.var(ddof=1)))
        assert found.boundary == ("sets",)


def test_that_components_of_a_table_with_holes_equal_statsmodels():
    generator = np.random.default_rng(9)
    scores = generator.normal(6, 1, (5, 1)) + generator.normal(0, 1.5, (1, 12))
    scores = scores + generator.normal(0, 1, (5, 12))
    scores[generator.random(scores.shape) < 0.15] = np.nan
    evaluator, set_ = np.nonzero(~np.isnan(scores))
    table = pd.DataFrame({"y": scores[evaluator, set_], "e": evaluator, "s": set_, "all": 1})
    random = {"evaluator": "0 + C(e)", "set": "0 + C(s)"}
    theirs = smf.mixedlm("y ~ 1", table, groups="all", vc_formula=random).fit(reml=True)
    found = two_way_components(scores)
    assert (found.evaluators, found.sets) == pytest.approx(tuple(theirs.vcomp), rel=1e-3)
    assert found.residual == pytest.approx(theirs.scale, rel=1e-3)
    assert found.intercept == pytest.approx(theirs.fe_params.iloc[0], rel=1e-5)
    assert found.log_likelihood == pytest.approx(theirs.llf, abs=1e-5)
    whole = found.sets + found.evaluators + found.residual
    ratios = intraclass_correlations(scores)
    assert ratios.form("ICC(A,1)").value == pytest.approx(found.sets / whole)
    agreement = ratios.form("ICC(A,1)")
    assert ratios.missing > 0
    assert agreement.lower < agreement.value < agreement.upper
    assert "approximate" in agreement.reason
    consistent = found.sets / (found.sets + found.residual)
    assert ratios.form("ICC(C,1)").value == pytest.approx(consistent)


def test_that_the_closed_form_of_a_complete_table_is_the_fitted_maximum():
    generator = np.random.default_rng(5)
    boundaries = set()
    for spread in (0.0, 0.2, 0.5, 1.0, 2.0):
        for _ in range(6):
            scores = generator.normal(0, 1, (5, 4)) + generator.normal(0, spread, (1, 4))
            scores += generator.normal(0, 1 - spread / 2, (5, 1))
            found = two_way_components(scores)
            evaluator, set_ = np.indices(scores.shape).reshape(2, -1)
            fit = fit_crossed(scores.ravel(), (set_, evaluator), (4, 5))
            assert found.residual == pytest.approx(fit.residual, abs=1e-6)
            assert (found.sets, found.evaluators) == pytest.approx(
                fit.ratios * fit.residual, abs=1e-6
            )
            boundaries.add(found.boundary)
    assert {(), ("sets",)} <= boundaries


def test_that_no_point_nearby_is_more_likely():
    generator = np.random.default_rng(6)
    scores = generator.normal(6, 1, (6, 1)) + generator.normal(0, 1, (1, 5))
    scores = scores + generator.normal(0, 1, (6, 5))
    keep = generator.random(scores.shape) > 0.2
    evaluator, set_ = np.nonzero(keep)
    values = scores[keep]
    fit = fit_crossed(values, (set_, evaluator), (5, 6))

    def restricted_log_likelihood(ratios):
        same = (
            np.equal.outer(set_, set_) * ratios[0]
            + np.equal.outer(evaluator, evaluator) * (ratios[1])
        )
        covariance = np.eye(values.size) + same
        inverse = np.linalg.inv(covariance)
        ones = np.ones(values.size)
        weight = ones @ inverse @ ones
        rest = values - ones @ inverse @ values / weight
        df = values.size - 1
        variance = rest @ inverse @ rest / df
        return -0.5 * (
            df * (1 + np.log(2 * np.pi * variance))
            + np.linalg.slogdet(covariance)[1]
            + np.log(weight)
        )

    best = restricted_log_likelihood(fit.ratios)
    assert fit.log_likelihood == pytest.approx(best, abs=1e-9)
    for step in ((1e-3, 0), (-1e-3, 0), (0, 1e-3), (0, -1e-3)):
        assert restricted_log_likelihood(fit.ratios + step) < best


def test_that_scores_without_any_residual_do_not_run_away():
    scores = np.add.outer(np.array([0.0, 1.0, 3.0]), np.array([2.0, 4.0, 5.0, 7.0]))
    scores[0, 0] = np.nan
    found = two_way_components(scores)
    assert found.residual == 0
    assert found.sets == pytest.approx(np.var([2, 4, 5, 7], ddof=1))
    assert found.evaluators == pytest.approx(np.var([0, 1, 3], ddof=1))


def test_that_too_few_scores_have_no_components():
    nan = np.nan
    assert two_way_components(np.array([[5.0, 6.0]])) is None
    assert two_way_components(np.array([[5.0, nan], [nan, 6.0]])) is None
    assert one_way_components(np.array([[5.0, 6.0]])) is None
