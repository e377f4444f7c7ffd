"""Friedman's test against R and SciPy."""

import numpy as np
import pytest

from ratings.statistics.agreement.friedman import friedman_test


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
