"""The permutation test against listing every sign and against SciPy."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from ratings.statistics.differences.sign_flips import MOST_DIFFERENCES, sign_flip_p


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(-6, 6), min_size=1, max_size=9))
def test_that_p_is_the_share_of_all_sign_changes(whole):
    differences = np.array(whole) / 12
    means = [
        np.mean(np.array(signs) * np.abs(differences))
        for signs in itertools.product((-1, 1), repeat=len(whole))
    ]
    share = np.mean(np.abs(means) >= abs(differences.mean()) - 1e-9)
    assert sign_flip_p(differences) == pytest.approx(share)


def test_that_scipy_s_permutation_test_says_the_same():
    differences = np.random.default_rng(6).normal(0.6, 1, 11)
    theirs = stats.permutation_test(
        (differences,), np.mean, permutation_type="samples", n_resamples=np.inf
    )
    assert sign_flip_p(differences) == pytest.approx(theirs.pvalue)


def test_that_missing_and_too_many_differences_are_told_apart():
    assert sign_flip_p(np.array([np.nan])) is None
    assert sign_flip_p(np.zeros(4)) == 1.0
    assert sign_flip_p(np.array([1.0, np.nan, 1.0])) == 0.5
    assert sign_flip_p(np.ones(MOST_DIFFERENCES + 1)) is None
