"""The p of each reason to look at an evaluator."""

import numpy as np
import pytest
from scipy import stats

from ratings.statistics.agreement.evaluator_tests import (
    Soundness,
    best_place,
    following_test,
    pooled_p,
    sameness_p,
    scatter_test,
)
from ratings.statistics.agreement.profile_agreement import profile_agreement
from ratings.statistics.agreement.residual_scatter import ResidualScatter

EVEN = Soundness(uneven=0.0, alike=0.0)


def residual_scatter(mean_squares, df=12.0, worst=0.0):
    squares = np.atleast_2d(np.asarray(mean_squares, dtype=float)) * df
    return ResidualScatter(squares, np.full(squares.shape, df), np.full(squares.shape, worst))


def test_that_among_even_evaluators_the_p_is_that_of_f_by_the_others():
    found = scatter_test(residual_scatter([4.0, 0.9, 1.1, 1.0, 1.2]), EVEN)
    reference = np.mean([0.9, 1.1, 1.0, 1.2])
    assert found.p[0] == pytest.approx(stats.f.sf(4.0 / reference, 12, 48))
    assert found.others_sd[0] == pytest.approx(np.sqrt(reference))


def test_that_the_reduced_df_are_those_of_an_uneven_chi_square():
    # A lognormal variance of SD 0.25 in log SD, times chi-square of 12 df: relative variance.
    rng = np.random.default_rng(1)
    values = np.exp(2 * rng.normal(0, 0.25, 400_000)) * rng.chisquare(12, 400_000) / 12
    relative = 2 * np.mean(values) ** 2 / np.var(values)
    assert Soundness().effective_df(np.array([12.0]))[0] == pytest.approx(relative, rel=0.25)


def test_that_attributes_that_resemble_each_other_count_as_fewer():
    # Squares of normal values with correlation 0.5 correlate by 0.25.
    rng = np.random.default_rng(2)
    common = rng.normal(size=(200_000, 1))
    values = np.square(np.sqrt(0.5) * common + np.sqrt(0.5) * rng.normal(size=(200_000, 8)))
    df = 2 / np.var(values.mean(axis=1))
    assert Soundness().sampling_df(np.array([8.0]), np.array([8.0])) == pytest.approx(df, rel=0.03)


def test_that_two_odd_ones_do_not_hide_each_other():
    found = scatter_test(residual_scatter([9.0, 9.0, 1.0, 1.1, 0.9, 1.0]), Soundness())
    assert found.p[:2] == pytest.approx([found.p[0]] * 2)
    assert (found.p[:2] < 0.005).all()
    assert (found.p[2:] > 0.3).all()


def test_that_scatter_which_one_score_makes_is_none():
    own = residual_scatter([4.0, 0.9, 1.1, 1.0, 1.2])
    own.worst[0, 0] = 30.0
    found = scatter_test(own, EVEN)
    assert found.p[0] == 1.0


def test_that_two_others_are_no_panel():
    assert np.isnan(scatter_test(residual_scatter([9.0, 1.0, 1.0]), Soundness()).p).all()
    assert not np.isnan(scatter_test(residual_scatter([9.0, 1.0, 1.0, 1.0]), Soundness()).p).any()


def test_that_a_few_scores_are_too_soon():
    assert np.isnan(scatter_test(residual_scatter([9.0, 1.0, 1.0, 1.0], df=3.0), EVEN).p).all()
    # Eight attributes of one repeat each are fewer than three witnesses, of two each enough.
    eight = np.tile([9.0, 1.0, 1.0, 1.0], (8, 1))
    assert np.isnan(scatter_test(residual_scatter(eight, df=1.0), Soundness()).p).all()
    assert not np.isnan(scatter_test(residual_scatter(eight, df=2.0), Soundness()).p).any()
    one, two = np.zeros((1, 4)), np.full((1, 4), 2.0)
    test = scatter_test(residual_scatter([1.0, 1.0, 1.0, 1.0]), EVEN)
    assert np.isnan(test.excess_p(9 + one, 1 + one, 9 + one, EVEN)).all()
    assert (test.excess_p(18 + one, two, 9 + one, EVEN) < 0.01).all()


def test_that_a_panel_without_scatter_makes_nobody_odd_by_a_step():
    found = scatter_test(residual_scatter([0.02, 0.0, 0.0, 0.0, 0.0, 0.0]), Soundness())
    assert found.p[0] > 0.5


def panel(slopes, sets=5, attributes=3, scatter=0.4, seed=4):
    rng = np.random.default_rng(seed)
    heard = rng.normal(0, 1, (attributes, 1, sets))
    noise = rng.normal(0, scatter, (attributes, len(slopes), sets))
    return 6 + np.array(slopes)[:, None] * heard + noise


def test_that_who_turns_the_sets_round_is_told_from_who_uses_less_of_the_scale():
    found = following_test(
        profile_agreement(panel([-1.0, 1, 1, 1, 1, 0.7, 1.3], attributes=8)), Soundness()
    )
    assert found.p[0] < 1e-4
    assert found.p_turned[0] < 1e-3
    assert (found.p[1:] > 0.3).all()
    assert found.correlation[0] < -0.7
    assert found.slope == pytest.approx([-1, 1, 1, 1, 1, 0.7, 1.3], abs=0.45)


def test_that_slopes_are_not_flattened_by_the_scatter_of_the_others():
    slopes = [
        following_test(profile_agreement(panel([1.0] * 6, 6, 8, 0.8, seed)), Soundness()).slope
        for seed in range(40)
    ]
    assert np.mean(slopes) == pytest.approx(1.0, abs=0.05)


def test_that_on_sets_that_do_not_differ_nobody_follows_too_little():
    p = [
        following_test(profile_agreement(panel([0.0] * 6, seed=seed)), Soundness()).p
        for seed in range(200)
    ]
    assert np.mean(np.array(p) < 0.01) < 0.01


def test_that_one_set_scored_the_wrong_way_is_no_opposition():
    scores = np.tile(6 + np.array([-1.0, -0.5, 0.5, 1.0]), (1, 7, 1))
    scores[0, 0, 3] = 1.0
    assert following_test(profile_agreement(scores), Soundness()).p[0] > 0.05
    scores[0, 0] = scores[0, 1, ::-1]
    assert following_test(profile_agreement(scores), Soundness()).p[0] < 0.001


def test_that_a_set_on_which_the_others_chance_to_be_apart_is_nothing_to_follow():
    rng = np.random.default_rng(6)
    scores = 6 + rng.normal(0, 0.4, (1, 8, 6))
    scores[0, :, 2] -= 2.0
    scores[0, 0, 2] += 4.0
    assert following_test(profile_agreement(scores), Soundness()).p[0] == 1.0
    assert following_test(profile_agreement(scores), Soundness(rest=0.5)).p[0] < 0.01


def test_that_one_score_throughout_is_as_likely_as_the_others_repeat_theirs():
    # The others give their commonest score in 6 of 10, 5 of 10 and 4 of 10: q is a half.
    rows = [[7] * 10, [7] * 6 + [5] * 4, [6] * 5 + [5] * 5, [6] * 4 + [5] * 3 + [4] * 3]
    scores = np.array(rows, dtype=float)
    evaluator, _ = np.indices(scores.shape)
    codes = evaluator.ravel(), np.zeros(scores.size, dtype=int)
    found = sameness_p(scores.ravel(), *codes, 5, Soundness())
    assert found[0] == pytest.approx(0.5**9)
    assert (found[1:4] == 1).all()
    assert np.isnan(found[4])


def test_that_where_everybody_gives_one_score_nobody_is_odd():
    scores = np.full((4, 6), 7.0)
    evaluator, _ = np.indices(scores.shape)
    codes = evaluator.ravel(), np.zeros(scores.size, dtype=int)
    assert (sameness_p(scores.ravel(), *codes, 4, Soundness()) == 1).all()


def test_that_a_question_over_all_and_on_each_attribute_costs_its_share():
    p = np.array([[0.04, 0.5, np.nan], [0.2, 0.0001, np.nan], [0.3, np.nan, np.nan]])
    found = pooled_p(p)
    assert found[:2] == pytest.approx([0.05, 0.0005])
    assert np.isnan(found[2])
    assert best_place(p[:, 0]) == 0
    assert best_place(p[:, 1]) == 1
    assert pooled_p(p[:1])[0] == 0.04
