"""Difference tests against R, printed tables, SciPy and simulated listeners."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from ratings.statistics.discrimination.discrimination_tests import (
    GUESSING,
    d_prime_of_share,
    share_right,
)
from ratings.statistics.discrimination.sensitivity import (
    chance_of_at_least,
    discrimination,
    paired_with_no_difference,
    similarity_p,
    smallest_significant_correct,
)

FIELDS = ("d_prime", "se", "lower", "upper", "share", "share_above_guessing", "p")


def test_that_shares_and_d_prime_equal_r(reference):
    case = reference("difference_tests")
    for test, d_prime, share in case["share"]:
        assert share_right(d_prime, test) == pytest.approx(share, abs=1e-6), (test, d_prime)
    for test, share, d_prime in case["d_prime"]:
        assert d_prime_of_share(share, test) == pytest.approx(d_prime, abs=1e-4), (test, share)


def test_that_results_of_tests_equal_r(reference):
    compared = 0
    for test, correct, trials, interval, *expected in reference("difference_tests")["tests"]:
        found = discrimination(correct, trials, test, interval)
        for field, value in zip(FIELDS, expected, strict=True):
            if (correct, trials, interval, field) == (30, 30, "likelihood", "lower"):
                continue
            where = (test, correct, trials, interval, field)
            assert getattr(found, field) == pytest.approx(value, abs=2e-4), where
            compared += 1
    assert compared == 2 * 7 * 7 - 1


def test_that_the_likelihood_limit_of_a_perfect_score_is_the_closed_form(reference):
    # All 30 right: 60 log(share) = -3.84. The reference case has 2.1911, 0.016 higher, which leaves
    # a likelihood ratio of 3.75 instead of 3.84; the other 97 figures agree, so that it is theirs.
    found = discrimination(30, 30, "paired", "likelihood")
    share = np.exp(-stats.chi2.ppf(0.95, 1) / 60)
    assert found.lower == pytest.approx(np.sqrt(2) * stats.norm.ppf(share), abs=1e-9)


def test_that_similarity_equals_r(reference):
    for test, correct, trials, p in reference("difference_tests")["similarity"]:
        assert similarity_p(correct, trials, test, 0.3) == pytest.approx(p, abs=1e-6)


def test_that_paired_answers_with_no_difference_equal_r(reference):
    case = reference("difference_tests")["with_no_difference"]
    found = paired_with_no_difference(*case["answers"])
    assert [found.threshold, found.threshold_se] == pytest.approx(case["threshold"], abs=1e-4)
    assert [found.d_prime, found.d_prime_se] == pytest.approx(case["d_prime"], abs=1e-4)
    assert paired_with_no_difference(3, 0, 7) is None


@pytest.mark.parametrize(
    ("trials", "one_sided", "two_sided", "triangle"),
    [(6, 6, 6, 5), (8, 7, 8, 6), (10, 9, 9, 7), (12, 10, 10, 8), (15, 12, 12, 9),
     (20, 15, 15, 11), (30, 20, 21, 15)],
)  # fmt: skip
def test_that_critical_numbers_are_those_of_the_tables(trials, one_sided, two_sided, triangle):
    # Binomial tails at 5 % as tabulated for the trade; 21 of 30 is also an example of
    # ISO 5495:2005/Amd 1:2016 (second hand).
    assert smallest_significant_correct(trials, "paired") == one_sided
    assert smallest_significant_correct(trials, "paired", two_sided=True) == two_sided
    assert smallest_significant_correct(trials, "triangle") == triangle
    assert smallest_significant_correct(trials, "duo-trio") == one_sided


def test_that_too_few_trials_can_never_be_significant():
    assert smallest_significant_correct(4, "paired") is None
    assert discrimination(4, 4, "paired").smallest_significant is None
    assert discrimination(0, 0, "paired") is None
    assert discrimination(5, 4, "paired") is None


@given(st.integers(1, 40), st.data(), st.sampled_from(sorted(GUESSING)))
@settings(max_examples=60, deadline=None)
def test_that_p_and_the_exact_interval_equal_scipy(trials, data, test):
    correct = data.draw(st.integers(0, trials))
    guess = GUESSING[test]
    found = discrimination(correct, trials, test)
    theirs = stats.binomtest(correct, trials, guess, alternative="greater")
    assert found.p == pytest.approx(theirs.pvalue, rel=1e-9)
    assert chance_of_at_least(correct, trials, guess) == found.p
    ends = stats.binomtest(correct, trials).proportion_ci(0.95, "exact")
    assert share_right(found.lower, test) == pytest.approx(max(guess, ends.low), abs=1e-9)
    if found.upper is not None:
        assert share_right(found.upper, test) == pytest.approx(max(guess, ends.high), abs=1e-9)


@given(st.floats(0, 6), st.sampled_from(sorted(GUESSING)))
@settings(max_examples=60, deadline=None)
def test_that_shares_rise_from_guessing_and_come_back(d_prime, test):
    share = share_right(d_prime, test)
    assert GUESSING[test] - 1e-12 <= share < 1
    assert share_right(d_prime + 0.1, test) > share
    if d_prime > 0.1:
        assert d_prime_of_share(share, test) == pytest.approx(d_prime, abs=1e-6)


def test_that_shares_equal_adaptive_integration():
    def triangle(z):
        shift, far = 1.3 * np.sqrt(2 / 3), z * np.sqrt(3)
        both = stats.norm.cdf(shift - far) + stats.norm.cdf(-shift - far)
        return 2 * both * stats.norm.pdf(z)

    def tetrad(z):
        other = stats.norm.cdf(z - 1.3)
        return stats.norm.pdf(z) * (2 * stats.norm.cdf(z) * other - other**2)

    assert share_right(1.3, "triangle") == pytest.approx(
        integrate.quad(triangle, 0, np.inf, epsabs=1e-12)[0], abs=1e-10
    )
    assert share_right(1.3, "tetrad") == pytest.approx(
        1 - 2 * integrate.quad(tetrad, -np.inf, np.inf, epsabs=1e-12)[0], abs=1e-10
    )


def test_that_simulated_listeners_are_right_as_often_as_said():
    # Seeded; 40 000 trials at d' = 1.5, binomial error 0.25 %. Three of one kind and one odd; the
    # listener names the one furthest from the middle of the other two.
    rng = np.random.default_rng(3)
    same, odd = rng.normal(size=(40_000, 2)), rng.normal(1.5, 1, 40_000)
    near = np.abs(same[:, 0] - same[:, 1])
    right = (near < np.abs(odd - same[:, 0])) & (near < np.abs(odd - same[:, 1]))
    assert right.mean() == pytest.approx(share_right(1.5, "triangle"), abs=0.01)
    reference = rng.normal(size=40_000)
    closer = np.abs(same[:, 0] - reference) < np.abs(odd - reference)
    assert closer.mean() == pytest.approx(share_right(1.5, "duo-trio"), abs=0.01)
