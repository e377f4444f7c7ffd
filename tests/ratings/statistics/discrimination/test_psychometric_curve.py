"""Psychometric curves against R and simulated listeners; targets of adaptive tracks."""

import math

import numpy as np
import pytest
from scipy.special import gammaln

from ratings.statistics.discrimination.adaptive_targets import up_down_target
from ratings.statistics.discrimination.psychometric_curve import psychometric_curve


def columns(case):
    level, trials, correct = np.array(case["rows"], dtype=float).T
    return level, correct, trials


@pytest.mark.parametrize("curve", ["logit", "probit"])
def test_that_curves_with_guessing_equal_r(reference, curve):
    case = reference("psychometric_curve")
    found = psychometric_curve(*columns(case), curve)
    expected = case[curve]
    assert [found.intercept, found.intercept_se] == pytest.approx(expected["intercept"], abs=1e-4)
    assert [found.slope, found.slope_se] == pytest.approx(expected["slope"], abs=1e-4)
    assert found.deviance == pytest.approx(expected["deviance"], abs=1e-5)
    assert found.threshold == pytest.approx(expected["threshold"], abs=1e-5)


def test_that_the_weibull_curve_equals_r(reference):
    case = reference("psychometric_curve")
    level, correct, trials = columns(case)
    ways = gammaln(trials + 1) - gammaln(correct + 1) - gammaln(trials - correct + 1)
    for lapse, alpha, beta, minus_log_likelihood in case["weibull"]:
        found = psychometric_curve(level, correct, trials, "weibull", 0.5, lapse)
        assert found.threshold == pytest.approx(alpha, abs=1e-4)
        assert found.slope == pytest.approx(beta, abs=1e-3)
        assert -found.log_likelihood - ways.sum() == pytest.approx(minus_log_likelihood, abs=1e-6)


@pytest.mark.parametrize("unit", [1e-5, 1e5])
def test_that_the_unit_of_the_level_does_not_matter(reference, unit):
    level, correct, trials = columns(reference("psychometric_curve"))
    plain = psychometric_curve(level, correct, trials)
    scaled = psychometric_curve(level * unit, correct, trials)
    assert scaled.threshold == pytest.approx(plain.threshold * unit, rel=1e-6)
    assert scaled.threshold_se == pytest.approx(plain.threshold_se * unit, rel=1e-6)


@pytest.mark.parametrize(
    ("level", "correct", "reason"),
    [
        ([1, 2, 3], [5, 5, 10], "do not rise"),
        ([1, 2, 3], [9, 7, 4], "do not get better"),
        ([2, 2, 2], [5, 7, 8], "One level"),
    ],
)
def test_that_answers_without_a_curve_are_told_in_words(level, correct, reason):
    found = psychometric_curve(
        np.array(level, dtype=float), np.array(correct, dtype=float), np.full(3, 10.0)
    )
    assert found.threshold is None
    assert reason in found.reason


def test_that_a_weibull_curve_needs_levels_above_zero():
    level = np.array([0.0, 1.0, 2.0])
    found = psychometric_curve(level, np.array([5.0, 7, 9]), np.full(3, 10.0), "weibull")
    assert "above zero" in found.reason


def test_that_the_threshold_of_simulated_listeners_is_covered():
    # Seeded; 300 listeners, 6 levels x 30 answers: 95 % intervals, error 1.3 %.
    rng = np.random.default_rng(9)
    level = np.linspace(0.5, 4.5, 6)
    share = 0.5 + 0.5 / (1 + np.exp(-1.8 * (level - 2.2)))
    covered = fitted = 0
    for _ in range(300):
        found = psychometric_curve(level, rng.binomial(30, share).astype(float), np.full(6, 30.0))
        if found.threshold is not None:
            fitted += 1
            covered += abs(found.threshold - 2.2) < 1.96 * found.threshold_se
    assert fitted > 290
    assert 0.91 < covered / fitted < 0.99


@pytest.mark.parametrize(
    ("up", "down", "target", "printed"),
    [
        (1, 1, 0.5, 0.5),
        (1, 2, 0.707106781186548, 0.707),
        (1, 3, 0.7937005259841, 0.794),
        (1, 4, 0.840896415253715, 0.841),
        (2, 1, 0.292893218813452, 0.293),
        (3, 1, 0.2062994740159, 0.206),
        (4, 1, 0.159103584746285, 0.159),
    ],
)
def test_that_tracks_come_to_rest_where_levitt_says(up, down, target, printed):
    # Levitt 1971, table I (printed values from memory) and its closed form.
    assert up_down_target(up, down) == pytest.approx(target, abs=1e-12)
    assert round(up_down_target(up, down), 3) == printed


def test_that_a_track_without_a_closed_form_has_no_target():
    assert math.isnan(up_down_target(2, 2))


def test_that_a_simulated_track_rests_at_its_target():
    # Seeded; 2-down 1-up over 20 000 answers of a listener with a known curve.
    rng = np.random.default_rng(2)
    level, in_a_row, shares = 3.0, 0, []
    for _ in range(20_000):
        share = 0.5 + 0.5 / (1 + np.exp(-2 * (level - 2)))
        shares.append(share)
        in_a_row = in_a_row + 1 if rng.random() < share else 0
        if not in_a_row:
            level += 0.05
        elif in_a_row == 2:
            level, in_a_row = level - 0.05, 0
    assert np.mean(shares[1000:]) == pytest.approx(up_down_target(1, 2), abs=0.01)
