"""The signed-rank test against R and against counting every sign."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from ratings.statistics.differences.signed_rank import MOST_DIFFERENCES, sign_flip_p, signed_rank


@pytest.mark.parametrize("zeros", ["ranked", "dropped"])
def test_that_ties_and_zeros_come_out_as_in_r(reference, zeros):
    case = reference("signed_rank")
    scores = np.array(case["scores"], dtype=float)
    found = signed_rank(scores[:, 0] - scores[:, 1], step=1.0, zeros=zeros)
    for name, value in case[f"zeros_{zeros}"].items():
        assert getattr(found, name) == pytest.approx(value, abs=1e-8), name
    assert found.zeros == 3


@pytest.mark.parametrize("zeros", ["ranked", "dropped"])
def test_that_the_published_example_comes_out(reference, zeros):
    case = reference("hollander_wolfe")["depression"]
    scores = np.array(case["scores"])
    found = signed_rank(scores[:, 0] - scores[:, 1], zeros=zeros)
    for name, value in case["signed_rank"].items():
        assert getattr(found, name) == pytest.approx(value, abs=1e-8), name
    for name, (value, decimals) in case["printed"].items():
        assert round(getattr(found, name), decimals) == value, name


def test_that_equal_differences_are_equal_although_floating_point_says_otherwise(reference):
    (scores,) = (
        np.array(case["scores"]) for case in reference("kendall") if "22 runners" in case["name"]
    )
    for row in reference("hollander_wolfe")["runners"]:
        raw = scores[:, row["first"]] - scores[:, row["second"]]
        # R was given unrounded differences, where 5.40 - 5.35 is not 5.35 - 5.30.
        as_floating_point_ranks_them = np.sign(raw) * stats.rankdata(np.abs(raw))
        found = signed_rank(as_floating_point_ranks_them)
        assert found.p_exact == pytest.approx(row["signed_rank_unrounded"], abs=1e-8)
        rounded = signed_rank(raw, step=0.05).p_exact
        assert rounded == signed_rank(raw).p_exact
        assert rounded != pytest.approx(row["signed_rank_unrounded"], abs=1e-5)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(-4, 4), min_size=1, max_size=9))
def test_that_p_is_the_share_of_all_signs(whole):
    differences = np.array(whole) * 0.25
    ranks = stats.rankdata(np.abs(differences)) * (differences != 0)
    found = float(ranks[differences > 0].sum())
    sums = [
        sum(r for r, up in zip(ranks, signs, strict=True) if up)
        for signs in itertools.product((False, True), repeat=len(whole))
    ]
    greater = np.mean([s >= found - 1e-9 for s in sums])
    less = np.mean([s <= found + 1e-9 for s in sums])
    ours = signed_rank(differences, step=0.25)
    assert ours.p_greater == pytest.approx(greater)
    assert ours.p_less == pytest.approx(less)
    assert ours.p_exact == pytest.approx(min(1.0, 2 * min(greater, less)))


def test_that_untied_differences_equal_scipy():
    generator = np.random.default_rng(2)
    differences = generator.normal(0.3, 1, 25)
    theirs = stats.wilcoxon(differences, method="exact")
    assert signed_rank(differences).p_exact == pytest.approx(theirs.pvalue, rel=1e-12)


def test_that_many_differences_take_the_normal_distribution_and_none_say_nothing():
    generator = np.random.default_rng(2)
    found = signed_rank(generator.normal(0.1, 1, 500))
    assert found.p_exact is None
    assert found.p == found.p_normal
    nothing = signed_rank(np.array([np.nan]))
    assert (nothing.differences, nothing.p_exact, nothing.z) == (0, 1.0, None)
    assert signed_rank(np.zeros(5)).p_exact == 1.0


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
