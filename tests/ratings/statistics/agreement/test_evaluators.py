"""Each evaluator's figures against R, standards and hand-made panels."""

import math

import numpy as np
import pytest
from gathered_tables import cells_of_repeats
from scipy import stats

from ratings.statistics.agreement.evaluators import panel_fitness
from ratings.statistics.agreement.mandel import mandel_h, mandel_h_critical, mandel_k_critical
from ratings.statistics.cells import gather_cells


def long_table(rows, names=(0, 1)):
    first, second = (sorted({row[i] for row in rows}) for i in names)
    return (
        np.array([row[-1] for row in rows], dtype=float),
        np.array([first.index(row[names[0]]) for row in rows]),
        np.array([second.index(row[names[1]]) for row in rows]),
        (len(first), len(second), 1),
    )


def test_that_the_sensory_panel_equals_r(shared_case):
    case = shared_case("panel_tvbo_sharpness_assessors")
    scores, evaluator, set_, shape = long_table(case["data"]["rows"])
    found = panel_fitness(gather_cells(scores, evaluator, set_, np.zeros_like(set_), shape))
    ours = {
        "value": found.discrimination_f,
        "df1": found.discrimination_df1,
        "df2": found.discrimination_df2,
        "p": found.discrimination_p,
        "repeatability_sd": found.repeat_sd,
        "sd_of_product_means": found.set_sd,
        "bias": found.bias,
        "r_with_mean_of_others": found.correlation_with_others,
        "slope_on_panel_mean": found.slope_on_panel,
    }
    assert len(case["expected"]) == 8
    for row, expected in enumerate(case["expected"]):
        for name, values in ours.items():
            assert values[row] == pytest.approx(expected[name], abs=1e-8), (row, name)


def test_that_h_and_k_equal_the_interlaboratory_example(shared_case):
    case = shared_case("ils_glucose_e691")
    scores, evaluator, set_, shape = long_table(case["data"]["rows"])
    found = panel_fitness(gather_cells(scores, evaluator, set_, np.zeros_like(set_), shape))
    checked = 0
    for expected in case["expected"]:
        parts = expected["name"].split()
        if len(parts) == 4 and parts[1] in ("h", "k"):
            values = found.h if parts[1] == "h" else found.k
            value = values[int(parts[3][3:]) - 1, "ABCDE".index(parts[0])]
            assert value == pytest.approx(expected["value"], abs=1e-8), expected["name"]
            checked += 1
    assert checked == 80


def test_that_critical_values_equal_the_formulas_in_r_and_the_printed_tables(reference):
    case = reference("mandel_critical")
    for evaluators, alpha, h in case["h"]:
        assert mandel_h_critical(evaluators, alpha) == pytest.approx(h, rel=1e-9)
    for evaluators, repeats, alpha, k in case["k"]:
        assert mandel_k_critical(evaluators, repeats, alpha) == pytest.approx(k, rel=1e-9)
    for evaluators, alpha, h in case["h_printed"]:
        assert round(mandel_h_critical(evaluators, alpha), 2) == h
    for evaluators, repeats, alpha, k in case["k_printed"]:
        assert round(mandel_k_critical(evaluators, repeats, alpha), 2) == k
    assert math.isnan(mandel_h_critical(2, 0.05))
    assert math.isnan(mandel_k_critical(5, 1, 0.05))


def test_that_h_and_k_follow_their_definitions():
    # ISO 5725-2:1994, 7.3.1: h compares means of a level, k standard deviations of its cells.
    scores = np.random.default_rng(10).normal(6, 1, (6, 4, 3))
    found = panel_fitness(cells_of_repeats(scores))
    means, sds = scores.mean(axis=2), scores.std(axis=2, ddof=1)
    for set_ in range(4):
        assert found.h[:, set_] == pytest.approx(stats.zscore(means[:, set_], ddof=1))
        pooled = np.sqrt(np.square(sds[:, set_]).mean())
        assert found.k[:, set_] == pytest.approx(sds[:, set_] / pooled)


def test_that_spread_and_slope_of_an_evaluator_are_those_of_the_set_means():
    scores = np.random.default_rng(11).normal(6, 1, (4, 5, 3)) + np.arange(5.0)[:, None]
    found = panel_fitness(cells_of_repeats(scores))
    means = scores.mean(axis=2)
    for row in range(4):
        assert found.set_sd[row] == pytest.approx(stats.tstd(means[row]))
        line = stats.linregress(means.mean(axis=0), means[row])
        assert found.slope_on_panel[row] == pytest.approx(line.slope)
        assert found.repeat_sd[row] == pytest.approx(
            np.sqrt(scores[row].var(axis=1, ddof=1).mean())
        )


def test_that_discrimination_is_the_one_way_analysis_of_variance_in_scipy():
    generator = np.random.default_rng(7)
    scores = generator.normal(6, 1, (3, 4, 5))
    scores[1, 2, 3:] = np.nan
    found = panel_fitness(cells_of_repeats(scores))
    for row in range(3):
        groups = [values[~np.isnan(values)] for values in scores[row]]
        f, p = stats.f_oneway(*groups)
        assert found.discrimination_f[row] == pytest.approx(f, rel=1e-9)
        assert found.discrimination_p[row] == pytest.approx(p, rel=1e-9)


def test_that_a_difference_between_conditions_is_not_taken_for_scatter():
    generator = np.random.default_rng(8)
    scores = generator.normal(6, 0.3, (3, 4, 2, 2)) + np.array([0.0, 3.0])[:, None]
    place = np.indices(scores.shape)
    flat = [axis.ravel() for axis in place[:3]]
    found = panel_fitness(gather_cells(scores.ravel(), *flat, (3, 4, 2)))
    within = scores.var(axis=3, ddof=1).mean(axis=(1, 2))
    assert found.repeat_sd == pytest.approx(np.sqrt(within))
    between = 4 * scores.mean(axis=(2, 3)).var(axis=1, ddof=1)
    assert found.discrimination_f == pytest.approx(between / within)


def test_that_without_repeats_the_interaction_with_conditions_is_the_error():
    generator = np.random.default_rng(9)
    scores = generator.normal(6, 1, (2, 4, 3))
    place = [axis.ravel() for axis in np.indices(scores.shape)]
    found = panel_fitness(gather_cells(scores.ravel(), *place, scores.shape))
    own = scores[0]
    left = own - own.mean(axis=0) - own.mean(axis=1, keepdims=True) + own.mean()
    f = 3 * own.mean(axis=1).var(ddof=1) / (np.square(left).sum() / 6)
    assert found.discrimination_f[0] == pytest.approx(f)
    assert found.discrimination_df2[0] == 6
    assert np.isnan(found.repeat_sd).all()


def test_that_bias_is_the_distance_from_the_panel_over_the_sets_that_were_rated():
    scores = np.array([[5, 6, 7], [6, 7, 8], [7, 8, np.nan]], dtype=float)[:, :, None]
    found = panel_fitness(cells_of_repeats(scores))
    assert found.bias == pytest.approx([-5 / 6, 1 / 6, 1.0])


def test_that_correlation_with_the_others_leaves_oneself_out():
    scores = np.array([[1, 2, 3, 4], [2, 1, 4, 3], [4, 3, 2, 1]], dtype=float)
    found = panel_fitness(cells_of_repeats(scores[:, :, None]))
    for row in range(3):
        others = np.delete(scores, row, axis=0).mean(axis=0)
        if np.ptp(others):
            expected = stats.pearsonr(scores[row], others).statistic
            assert found.correlation_with_others[row] == pytest.approx(expected)
        else:
            assert np.isnan(found.correlation_with_others[row])


def test_that_an_evaluator_who_never_moves_has_no_correlation_and_no_f():
    scores = np.array([[[6, 6]] * 3, [[5, 5], [6, 6], [7, 7]], [[4, 5], [6, 6], [8, 7]]], float)
    found = panel_fitness(cells_of_repeats(scores))
    assert np.isnan(found.correlation_with_others[0])
    assert np.isnan(found.discrimination_f[0])
    assert math.isinf(found.discrimination_f[1])
    assert found.discrimination_p[1] == 0


def test_that_h_needs_three_evaluators_and_some_spread():
    assert np.isnan(mandel_h(np.array([[5.0, 6.0], [7.0, 6.0]]))).all()
    h = mandel_h(np.array([[5.0, 6.0], [7.0, 6.0], [9.0, 6.0]]))
    assert h[:, 0] == pytest.approx([-1, 0, 1])
    assert np.isnan(h[:, 1]).all()
