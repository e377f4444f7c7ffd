"""A set judged by its own scatter, beside scipy."""

import numpy as np
import pytest
from scipy import stats

from ratings.statistics.differences.paired_t import wider_than


def test_that_it_is_students_t_of_scipy_and_two_one_sided_tests():
    own = np.array([0.5, 1.5, -0.5, 2.0, np.nan, 1.0])
    known = own[~np.isnan(own)]
    found = wider_than(own, 0.1)
    expected = stats.ttest_1samp(known, 0.0)
    assert found.p == pytest.approx(expected.pvalue)
    assert found.df == expected.df
    above = stats.ttest_1samp(known, -1.5, alternative="greater").pvalue
    below = stats.ttest_1samp(known, 1.5, alternative="less").pvalue
    assert found.equivalent_p(1.5) == pytest.approx(max(above, below))


def test_that_a_set_within_the_common_scatter_is_left_to_it():
    own = np.array([0.5, 1.5, -0.5, 2.0])
    se = own.std(ddof=1) / 2
    assert wider_than(own, se) is None
    assert wider_than(own, se / 1.3) is not None
    assert wider_than(own[:1], 0.0) is None
    assert wider_than(np.full(4, 1.0), 0.1) is None
