"""Durbin's test against R and the textbook."""

import numpy as np
import pytest

from ratings.statistics.agreement.friedman import friedman_test
from ratings.statistics.differences.durbin import durbin_test


def test_that_the_ice_creams_come_out_as_published(reference):
    case = reference("durbin")
    found = durbin_test(np.array(case["ranks"], dtype=float))
    assert found.chi_square == pytest.approx(case["chi_square"])
    assert found.df == case["df"]
    assert found.p_chi_square == pytest.approx(case["p_chi_square"], rel=1e-9)
    assert (found.f.f, found.f.p) == pytest.approx((case["f"], case["p_f"]))
    assert found.concordance == pytest.approx(case["concordance"])


def test_that_a_complete_design_is_friedman_s_test():
    scores = np.random.default_rng(1).integers(4, 9, (6, 4)).astype(float)
    found, friedman = durbin_test(scores), friedman_test(scores)
    assert found.chi_square == pytest.approx(friedman.chi_square)
    assert found.f.f == pytest.approx(friedman.f)


def test_that_an_unbalanced_design_has_no_answer():
    nan = np.nan
    assert durbin_test(np.array([[1, 2, nan], [1, 2, 3.0], [nan, 1, 2]])) is None
    assert durbin_test(np.full((3, 3), 5.0)) is None
    assert durbin_test(np.array([[1, nan], [nan, 1.0]])) is None
