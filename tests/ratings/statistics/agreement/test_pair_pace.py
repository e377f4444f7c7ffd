"""Time per pair."""

import numpy as np
import pandas as pd
import pytest

from ratings.statistics.agreement.pair_pace import pair_pace


def test_that_medians_equal_those_of_pandas_and_numpy():
    # pandas groupby.median and numpy.median are the independent routes.
    rng = np.random.default_rng(4)
    evaluator = rng.integers(0, 6, 200)
    seconds, both_sides_s = rng.gamma(4, 12, 200), rng.uniform(8, 24, 200)
    found = pair_pace(seconds, both_sides_s, evaluator, 6)
    table = pd.DataFrame({"who": evaluator, "s": seconds, "h": seconds / both_sides_s})
    medians = table.groupby("who").median()
    assert found.pairs.tolist() == table.groupby("who").size().tolist()
    assert {n % 2 for n in found.pairs} == {0, 1}
    assert found.median_s == pytest.approx(medians["s"].to_numpy())
    assert found.median_hearings == pytest.approx(medians["h"].to_numpy())
    assert found.panel_median_s == pytest.approx(np.median(medians["s"]))


def test_that_one_long_pause_does_not_count():
    found = pair_pace(np.array([40.0, 42.0, 900.0]), np.full(3, 16.0), np.zeros(3, dtype=int), 1)
    assert found.median_s == pytest.approx([42.0])


def test_that_who_has_few_pairs_does_not_speak_for_the_panel():
    seconds, evaluator = np.array([50.0, 60.0, 5.0]), np.array([0, 0, 1])
    found = pair_pace(seconds, np.full(3, 16.0), evaluator, 3, fewest_pairs=2)
    assert (found.timed_evaluators, found.panel_median_s) == (1, 55.0)
    assert found.median_s[1] == 5.0
    assert np.isnan(found.median_s[2])


def test_that_missing_times_are_passed_over_and_nothing_gives_no_figure():
    found = pair_pace(np.array([np.nan, 30.0]), np.full(2, 15.0), np.array([0, 0]), 1)
    assert found.median_s == pytest.approx([30.0])
    assert found.median_hearings == pytest.approx([2.0])
    nothing = np.array([])
    empty = pair_pace(nothing, nothing, np.array([], dtype=int), 2)
    assert empty.timed_evaluators == 0
    assert np.isnan(empty.panel_median_s)
    assert np.isnan(empty.median_s).all()
