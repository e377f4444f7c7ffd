"""Sets against the control: invariances, units, conditions, and coverage in simulation."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from ratings.statistics.cells import Cells, gather_cells
from ratings.statistics.differences.set_comparison import (
    compare_by_condition,
    compare_sets,
)


def panel(seed, shape=(6, 4, 1), repeats=2, holes=0.0, effects=None, disagreement=0.4, own=0.5):
    """Scores of an invented panel, gathered."""
    generator = np.random.default_rng(seed)
    evaluators, sets, conditions = shape
    index = np.indices((*shape, repeats)).reshape(4, -1)
    e, s, c, _ = index[:, generator.random(index.shape[1]) >= holes]
    true = np.zeros((sets, conditions)) if effects is None else np.asarray(effects)
    true = true.reshape(sets, -1) * np.ones((sets, conditions))
    scores = (
        6
        + true[s, c]
        + generator.normal(0, 0.6, evaluators)[e]
        + generator.normal(0, disagreement, (evaluators, sets))[e, s]
        + generator.normal(0, own, e.size)
    )
    return gather_cells(scores, e, s, c, shape)


@pytest.mark.parametrize("holes", [0.0, 0.25])
def test_that_neither_order_nor_shift_of_evaluators_matters_and_scale_scales(holes):
    cells = panel(1, holes=holes)
    found = compare_sets(cells, 0).differences
    order = np.random.default_rng(2).permutation(6)
    shift = np.arange(6.0)[:, None, None] * (cells.counts > 0)
    moved = Cells(cells.counts[order], (cells.means + 3)[order], cells.scatter[order])
    own_level = Cells(cells.counts, cells.means + (shift if not holes else 0), cells.scatter)
    for other in (moved, own_level):
        again = compare_sets(other, 0).differences
        np.testing.assert_allclose(again.each.estimate, found.each.estimate, atol=1e-5)
        np.testing.assert_allclose(again.each.se, found.each.se, rtol=1e-4)
        np.testing.assert_allclose(again.p_dunnett, found.p_dunnett, atol=1e-5)
    tenfold = compare_sets(Cells(cells.counts, cells.means * 10, cells.scatter * 100), 0)
    np.testing.assert_allclose(
        tenfold.differences.each.estimate, 10 * found.each.estimate, rtol=1e-5
    )
    np.testing.assert_allclose(tenfold.differences.p_dunnett, found.p_dunnett, atol=1e-6)


@pytest.mark.slow
@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10**6), holes=st.floats(0, 0.35), sets=st.integers(2, 5))
def test_that_every_table_with_holes_has_sound_figures(seed, holes, sets):
    cells = panel(seed, (5, sets, 1), holes=holes)
    if not cells.counts.any(axis=(0, 2)).all() or not cells.counts.any(axis=(1, 2)).all():
        return
    found = compare_sets(cells, 0).differences
    each = found.each
    assert (each.se > 0).all()
    assert (each.df > 0).all()
    assert (each.lower < each.estimate).all()
    assert (found.p_dunnett >= each.p - 1e-4).all()
    assert (found.lower_simultaneous <= each.lower + 1e-3 * each.se).all()


def test_that_two_sets_with_one_score_each_are_the_paired_t_test():
    scores = np.random.default_rng(4).normal([6, 6.5], 1, (8, 2))
    cells = gather_cells(scores.ravel(), *np.indices((8, 2, 1)).reshape(3, -1), (8, 2, 1))
    each = compare_sets(cells, 0).differences.each
    theirs = stats.ttest_rel(scores[:, 1], scores[:, 0])
    assert each.df[0] == pytest.approx(7)
    assert each.t[0] == pytest.approx(theirs.statistic, rel=1e-5)
    interval = theirs.confidence_interval()
    assert (each.lower[0], each.upper[0]) == pytest.approx(tuple(interval), rel=1e-4)


def test_that_differences_within_pairs_are_the_one_sample_t_test():
    differences = np.random.default_rng(4).normal(0.4, 1, (8, 1))
    cells = gather_cells(differences.ravel(), *np.indices((8, 1, 1)).reshape(3, -1), (8, 1, 1))
    found = compare_sets(cells, None)
    theirs = stats.ttest_1samp(differences[:, 0], 0)
    assert found.differences.each.t[0] == pytest.approx(theirs.statistic, rel=1e-6)
    assert found.differences.p_dunnett[0] == pytest.approx(theirs.pvalue, rel=1e-5)
    assert found.kenward_roger.f == pytest.approx(theirs.statistic**2, rel=1e-6)


def test_that_a_drift_over_the_session_cancels_within_pairs_only():
    generator = np.random.default_rng(11)
    evaluators, sets = 8, 4
    drift = np.linspace(0, 3, sets - 1)[:, None] + generator.normal(0, 0.1, (sets - 1, evaluators))
    control = 6 - drift.T + generator.normal(0, 0.3, (evaluators, sets - 1))
    candidate = 6.5 - drift.T + generator.normal(0, 0.3, (evaluators, sets - 1))
    index = np.indices((evaluators, sets - 1, 1)).reshape(3, -1)
    within = compare_sets(
        gather_cells((candidate - control).ravel(), *index, (evaluators, sets - 1, 1)), None
    )
    np.testing.assert_allclose(within.differences.each.estimate, 0.5, atol=0.25)
    scores = np.concatenate([control.ravel(), candidate.ravel()])
    set_ = np.concatenate([np.zeros(control.size, dtype=int), index[1] + 1])
    cells = gather_cells(
        scores, np.tile(index[0], 2), set_, np.tile(index[2], 2), (evaluators, sets, 1)
    )
    estimates = compare_sets(cells, 0).differences.each.estimate
    assert estimates[0] > 1.5
    assert estimates[2] < -0.5


def test_that_a_set_better_on_one_road_and_worse_on_another_is_found():
    cells = panel(3, (8, 3, 2), effects=[[0, 0], [1.2, -1.2], [0, 0]], disagreement=0.2)
    found = compare_by_condition(cells, 0)
    assert found.interaction.p < 0.001
    ours = {
        (int(s), int(c)): float(d)
        for s, c, d in zip(found.set_, found.condition, found.differences.estimate, strict=True)
    }
    assert ours[1, 0] == pytest.approx(1.2, abs=0.5)
    assert ours[1, 1] == pytest.approx(-1.2, abs=0.5)
    assert abs(compare_sets(cells, 0).differences.each.estimate[0]) < 0.5
    calm = compare_by_condition(panel(3, (8, 3, 2), disagreement=0.2), 0)
    assert calm.interaction.p > 0.05
    assert compare_by_condition(panel(3), 0) is None


def test_that_a_set_missing_in_a_condition_is_compared_where_it_was_heard():
    cells = panel(5, (6, 3, 2))
    for array in (cells.counts, cells.means, cells.scatter):
        array[:, 2, 1] = 0
    found = compare_by_condition(cells, 0)
    assert found.interaction is None
    assert set(zip(found.set_, found.condition, strict=True)) == {(1, 0), (1, 1), (2, 0)}
    for array in (cells.counts, cells.means, cells.scatter):
        array[:, :2, 0] = 0
    apart = compare_sets(cells, 0)
    np.testing.assert_array_equal(apart.differences.others, [1])
    assert apart.kenward_roger is None


def test_that_identical_repeats_count_once():
    once = panel(6, repeats=1)
    twice = Cells(once.counts * 2, once.means, once.scatter)
    found = compare_sets(twice, 0)
    assert found.repeats_averaged
    np.testing.assert_allclose(found.differences.each.p, compare_sets(once, 0).differences.each.p)


def test_that_what_cannot_be_judged_says_why():
    one = panel(1, (1, 3, 1))
    assert compare_sets(one, 0).reason == "One evaluator alone cannot stand for a panel."
    assert "no other set" in compare_sets(panel(1, (3, 1, 1)), 0).reason
    flat = gather_cells(np.full(6, 5.0), *np.indices((2, 3, 1)).reshape(3, -1), (2, 3, 1))
    assert compare_sets(flat, 0).reason == "The scores leave no scatter to judge a difference by."


@pytest.mark.slow
def test_that_intervals_cover_and_dunnett_keeps_its_level():
    """Seeded; with 600 panels the standard error of a rate of 5 % is 0.9 %."""
    panels, sets = 600, 4
    covered, together, claimed, overall = 0, 0, 0, []
    for seed in range(panels):
        cells = panel(10_000 + seed, (6, sets, 1), holes=0.15 if seed % 2 else 0.0)
        found = compare_sets(cells, 0)
        each = found.differences.each
        covered += int(((each.lower < 0) & (each.upper > 0)).sum())
        together += int(
            (
                (found.differences.lower_simultaneous < 0)
                & (found.differences.upper_simultaneous > 0)
            ).all()
        )
        claimed += int((found.differences.p_dunnett < 0.05).any())
        overall.append(found.kenward_roger.p)
    assert covered / (panels * (sets - 1)) == pytest.approx(0.95, abs=0.015)
    assert together / panels == pytest.approx(0.95, abs=0.025)
    assert claimed / panels == pytest.approx(0.05, abs=0.025)
    assert np.mean(np.array(overall) < 0.05) == pytest.approx(0.05, abs=0.025)
    # A boundary variance makes the test a little cautious, so uniformity is asked loosely.
    assert stats.kstest(overall, "uniform").statistic < 0.08
