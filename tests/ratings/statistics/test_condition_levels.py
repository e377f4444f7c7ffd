"""Averages of unfinished and uneven tables against least squares over dummy columns in NumPy."""

import numpy as np
import pytest

from ratings.statistics.cells import gather_cells
from ratings.statistics.condition_levels import condition_levels


def cells_of(scores):
    """Gather an array (evaluators, sets, conditions); NaN is missing."""
    place = [axis.ravel() for axis in np.indices(scores.shape)]
    return gather_cells(scores.ravel(), *place, scores.shape)


def with_holes(seed, shape=(6, 5, 4), share=0.35):
    """Scores without structure; set 0 is the control and was rated in every condition."""
    generator = np.random.default_rng(seed)
    scores = generator.normal(6, 1, shape) + 2 * np.arange(shape[2])
    holes = generator.random(shape) < share
    holes[:, 0] = False
    scores[holes] = np.nan
    return scores


def least_squares_means(scores):
    """Mean over conditions of what ``score ~ set + condition`` predicts, by np.linalg.lstsq."""
    sets, conditions = scores.shape
    set_, condition = np.nonzero(~np.isnan(scores))
    design = np.hstack([np.eye(sets)[set_], np.eye(conditions)[condition][:, 1:]])
    found, _, rank, _ = np.linalg.lstsq(design, scores[set_, condition], rcond=None)
    assert rank == design.shape[1]
    return found[:sets] + np.append(0, found[sets:]).mean()


@pytest.mark.parametrize("seed", range(5))
def test_that_means_with_holes_are_the_least_squares_means_of_each_evaluator(seed):
    scores = with_holes(seed)
    scores[1, 3] = np.nan
    found = cells_of(scores).set_means()
    assert np.isnan(found[1, 3])
    for row, own in enumerate(scores):
        rated = ~np.isnan(own).all(axis=1)
        np.testing.assert_allclose(found[row, rated], least_squares_means(own[rated]), atol=1e-8)


def test_that_whole_tables_are_averaged_over_repeats_and_conditions():
    scores = np.random.default_rng(3).normal(6, 1, (4, 5, 3, 2))
    place = [axis.ravel() for axis in np.indices(scores.shape)[:3]]
    found = gather_cells(scores.ravel(), *place, scores.shape[:3]).set_means()
    np.testing.assert_allclose(found, scores.mean(axis=(2, 3)), atol=1e-9)


def test_that_more_repeats_in_one_condition_do_not_pull_a_set_towards_it():
    level = np.array([4.0, 6.0, 8.0])
    condition = np.array([0, 1, 2, 0, 1, 2, 2, 2])
    set_ = np.array([0, 0, 0, 1, 1, 1, 1, 1])
    nobody = np.zeros(8, dtype=int)
    found = gather_cells(level[condition], nobody, set_, condition, (1, 2, 3)).set_means()
    assert found.tolist() == [[6.0, 6.0]]


@pytest.mark.parametrize("seed", range(5))
def test_that_an_unfinished_session_shows_no_deviation_that_is_not_there(seed):
    generator = np.random.default_rng(seed)
    truth = generator.normal(6, 1, (8, 5))
    scores = truth[:, :, None] + np.array([-2.0, 0.0, 0.5, 1.5])
    # Each evaluator has met the control and one candidate in the pairs so far.
    met = np.zeros(scores.shape, dtype=bool)
    for row in range(8):
        for set_, condition in zip(
            generator.permutation(4) + 1, generator.integers(0, 4, 4), strict=True
        ):
            met[row, [0, set_], condition] = True
    found = cells_of(np.where(met, scores, np.nan)).set_means()
    np.testing.assert_allclose(found, truth, atol=1e-9)


def test_that_a_condition_somebody_has_not_reached_does_not_lift_them():
    truth = np.array([[5.0, 6, 7], [6, 6, 8], [4, 5, 5]])
    scores = truth[:, :, None] + np.array([-2.0, 2.0])
    scores[2, :, 1] = np.nan
    np.testing.assert_allclose(cells_of(scores).set_means(), truth, atol=1e-9)


def test_that_the_panel_tells_the_levels_where_an_evaluator_cannot():
    truth = np.array([[5.0, 6], [6, 6], [4, 7]])
    scores = truth[:, :, None] + np.array([-2.0, 2.0])
    scores[2, 0, 1] = scores[2, 1, 0] = np.nan
    np.testing.assert_allclose(cells_of(scores).set_means(), truth, atol=1e-9)


def test_that_an_evaluator_s_own_levels_go_before_the_panel_s():
    scores = np.zeros((3, 3, 2)) + np.array([[-1.0, 1.0], [-1.0, 1.0], [-3.0, 3.0]])[:, None]
    scores[2, 2, 1] = np.nan
    np.testing.assert_allclose(cells_of(scores).set_means(), 0.0, atol=1e-9)


def test_that_conditions_that_nothing_ties_together_count_as_equally_high():
    scores = np.full((3, 2, 2), np.nan)
    scores[:, 0, 0], scores[:, 1, 1] = [5, 6, 7], [8, 8, 9]
    assert (condition_levels(~np.isnan(scores), np.nan_to_num(scores)) == 0).all()
    assert cells_of(scores).set_means().tolist() == [[5, 8], [6, 8], [7, 9]]


def test_that_levels_sum_to_zero_over_the_conditions():
    scores = with_holes(11, share=0.5)
    levels = condition_levels(~np.isnan(scores), np.nan_to_num(scores))
    np.testing.assert_allclose(levels.sum(axis=1), 0.0, atol=1e-9)
