"""What is left out of a table with holes."""

import numpy as np

from ratings.statistics.missing import complete_part, mean_of_known, ratio

NAN = np.nan


def test_that_the_part_with_more_scores_is_kept():
    one_hole = np.array([[1, 2, 3], [1, NAN, 3], [1, 2, 3], [1, 2, 3.0]])
    evaluators, sets = complete_part(one_hole)
    assert evaluators.tolist() == [True, False, True, True]
    assert sets.all()
    wide = np.array([[1, 2, 3, NAN], [1, 2, 3, 4], [1, 2, 3, 4.0]])
    evaluators, sets = complete_part(wide)
    assert evaluators.all()
    assert sets.tolist() == [True, True, True, False]


def test_that_in_doubt_the_sets_are_kept():
    evaluators, sets = complete_part(np.array([[1, 2, NAN], [1, 2, 3], [1, 2, 3.0]]))
    assert evaluators.tolist() == [False, True, True]
    assert sets.all()


def test_that_a_part_with_one_set_or_evaluator_does_not_count():
    scores = np.array([[1, 2, NAN, NAN, NAN], [1, 2, 3, 4, 5.0]])
    evaluators, sets = complete_part(scores)
    assert evaluators.all()
    assert sets.sum() == 2


def test_that_undefined_means_and_ratios_are_nan_without_a_warning():
    assert np.isnan(ratio(1.0, 0.0))
    assert mean_of_known(np.array([[1.0, NAN], [3.0, NAN]]), axis=0).tolist()[0] == 2
    assert np.isnan(mean_of_known(np.array([[1.0, NAN], [3.0, NAN]]), axis=0)[1])
