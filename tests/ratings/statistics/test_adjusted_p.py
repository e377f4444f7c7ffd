"""Adjusted p values against R and their defining properties."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from statsmodels.stats.multitest import multipletests

from ratings.statistics import adjusted_p

WAYS = {
    "holm": adjusted_p.holm,
    "BH": adjusted_p.benjamini_hochberg,
}


@pytest.mark.parametrize("way", WAYS)
def test_that_every_adjusted_p_equals_r(reference, way):
    case = reference("adjusted_p")
    np.testing.assert_allclose(WAYS[way](case["p"]), case["adjusted"][way], atol=1e-12)


def test_that_as_many_tests_are_rejected_as_were_published(reference):
    p = reference("adjusted_p")["p"]
    assert (adjusted_p.benjamini_hochberg(p) <= 0.05).sum() == 4


@pytest.mark.slow
@settings(max_examples=30, deadline=None)
@given(st.lists(st.floats(0, 1), min_size=1, max_size=12))
def test_that_random_p_equal_statsmodels(p):
    for way, name in (("holm", "holm"), ("BH", "fdr_bh")):
        theirs = multipletests(p, method=name)[1]
        np.testing.assert_allclose(WAYS[way](p), theirs, atol=1e-12)


@pytest.mark.parametrize("way", WAYS)
def test_that_what_is_no_test_does_not_count(way):
    p = np.array([0.01, np.nan, 0.03, 0.2])
    found = WAYS[way](p)
    assert np.isnan(found[1])
    np.testing.assert_array_equal(found[[0, 2, 3]], WAYS[way](p[[0, 2, 3]]))
    assert np.isnan(WAYS[way](np.array([np.nan]))).all()
