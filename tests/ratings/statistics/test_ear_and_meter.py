"""Ear against meter: pingouin, statsmodels, refitting by hand and simulated studies."""

import numpy as np
import pandas as pd
import pingouin
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st

from ratings.statistics.ear_and_meter import ear_and_meter
from ratings.statistics.within_evaluators import within_correlation


def study(seed, evaluators=5, sets=9, own=0.0):
    rng = np.random.default_rng(seed)
    level_db = rng.uniform(60, 70, sets)
    heard = 12 - 0.1 * level_db + rng.normal(0, own, sets)
    scores = heard + rng.normal(0, 1, (evaluators, 1)) + rng.normal(0, 0.3, (evaluators, sets))
    return scores, level_db


# pingouin calls pandas in a way that pandas is about to drop.
@pytest.mark.filterwarnings("ignore:The inplace keyword in DataFrame.rename")
@given(st.integers(0, 10_000), st.integers(3, 6), st.integers(3, 9))
@settings(max_examples=8, deadline=None)
def test_that_the_correlation_within_evaluators_equals_pingouin(seed, evaluators, sets):
    scores, level_db = study(seed, evaluators, sets)
    who = np.repeat(np.arange(evaluators), sets)
    figure = np.tile(level_db, evaluators)
    found = within_correlation(figure, scores.ravel(), who)
    table = pd.DataFrame({"who": who, "figure": figure, "score": scores.ravel()})
    theirs = pingouin.rm_corr(table, x="figure", y="score", subject="who").iloc[0]
    assert found.correlation == pytest.approx(theirs["r"], abs=1e-9)
    assert found.df == theirs["dof"]
    # pingouin's small p comes from a difference of sums; its last digits are rounding.
    assert found.p == pytest.approx(theirs.filter(like="p").iloc[0], rel=1e-6, abs=1e-12)
    interval = theirs.filter(like="CI").iloc[0]
    assert [found.lower, found.upper] == pytest.approx(list(interval), abs=0.006)
    dummies = (who[:, None] == np.arange(evaluators)).astype(float)
    fitted = sm.OLS(scores.ravel(), np.column_stack([figure, dummies])).fit()
    assert found.slope == pytest.approx(fitted.params[0])
    assert [found.slope_lower, found.slope_upper] == pytest.approx(fitted.conf_int()[0].tolist())


def test_that_slope_and_errors_equal_refitting_by_hand():
    scores, level_db = study(1, own=0.4)
    found = ear_and_meter(scores, level_db)
    means = scores.mean(axis=0)
    fitted = sm.OLS(means, sm.add_constant(level_db)).fit()
    assert found.slope == pytest.approx(fitted.params[1])
    assert found.slope == pytest.approx(found.within.slope)
    assert [found.slope_lower, found.slope_upper] == pytest.approx(fitted.conf_int()[1].tolist())
    assert found.r_squared == pytest.approx(fitted.rsquared)
    np.testing.assert_allclose(found.residuals, fitted.resid, atol=1e-9)
    errors, plain = [], []
    for left_out in range(9):
        kept = np.arange(9) != left_out
        line = np.polyfit(level_db[kept], means[kept], 1)
        errors.append(means[left_out] - np.polyval(line, level_db[left_out]))
        plain.append(means[left_out] - means[kept].mean())
    assert found.left_out_error == pytest.approx(np.sqrt(np.mean(np.square(errors))))
    assert found.left_out_error_without_meter == pytest.approx(np.sqrt(np.mean(np.square(plain))))
    assert found.warning == ""


def test_that_a_missing_score_does_not_tilt_the_line():
    scores, level_db = study(2)
    scores = (12 - 0.1 * level_db) + np.array([[-1.5], [0], [0.3], [0.7], [2.0]])
    scores[0, 2] = scores[4, 6] = np.nan
    level_db[8] = np.nan
    found = ear_and_meter(scores, level_db)
    assert found.sets == 8
    assert found.slope == pytest.approx(-0.1)
    assert found.within.correlation == pytest.approx(-1)
    assert np.isnan(found.residuals[8])


def test_that_few_sets_are_warned_of_and_too_few_told():
    scores, level_db = study(3, sets=6)
    assert "6 sets are few" in ear_and_meter(scores, level_db).warning
    three = ear_and_meter(scores[:, :3], level_db[:3])
    assert three.slope_lower < three.slope < three.slope_upper
    assert three.left_out_error is None
    two = ear_and_meter(scores[:, :2], level_db[:2])
    assert (two.slope_lower, two.left_out_error) == (None, None)
    assert ear_and_meter(scores[:, :1], level_db[:1]).reason == "Fewer than two sets."
    assert "same for every set" in ear_and_meter(scores, np.full(6, 65.0)).reason


def test_that_scores_without_any_spread_have_slope_zero_and_no_correlation():
    found = within_correlation(np.arange(4.0), np.full(4, 6.0), np.zeros(4, dtype=np.intp))
    assert (found.slope, found.correlation) == (0.0, None)
    assert found.reason == "No evaluator's score varies."
    nothing = np.zeros(0)
    assert "Too few" in within_correlation(nothing, nothing, nothing.astype(np.intp)).reason


def test_that_the_slope_interval_covers_where_sets_scatter_and_the_naive_one_does_not():
    # Seeded; 500 studies in which each set has something of its own that the meter misses.
    # 95 % by the sets' means within 3 %; taking scores for independent covers far less.
    covered = naive = 0
    for seed in range(500):
        scores, level_db = study(seed, own=0.5)
        found = ear_and_meter(scores, level_db)
        covered += found.slope_lower < -0.1 < found.slope_upper
        naive += found.within.slope_lower < -0.1 < found.within.slope_upper
    assert 0.92 < covered / 500 < 0.98
    assert naive / 500 < 0.85
