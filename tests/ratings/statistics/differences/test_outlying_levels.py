"""Precision, Cochran and Grubbs against R and printed tables."""

import math

import numpy as np
import pytest

from ratings.statistics.differences.outlying_levels import (
    cochran_critical,
    grubbs_critical,
    precision,
)


def test_that_critical_values_equal_r_and_the_printed_tables(reference):
    case = reference("cochran_grubbs")
    assert len(case["cochran"]) > 100
    for evaluators, repeats, alpha, c in case["cochran"]:
        assert cochran_critical(evaluators, repeats, alpha) == pytest.approx(c, abs=1e-8)
    for evaluators, alpha, g in case["grubbs"]:
        assert grubbs_critical(evaluators, alpha) == pytest.approx(g, abs=1e-8)
    for evaluators, repeats, alpha, c in case["printed_cochran"]:
        # The printed tables are exact where the formula is Bonferroni's bound: one in the last.
        assert cochran_critical(evaluators, repeats, alpha) == pytest.approx(c, abs=1e-3)
    for evaluators, alpha, g in case["printed_grubbs"]:
        assert round(grubbs_critical(evaluators, alpha), 3) == g
    assert math.isnan(cochran_critical(1, 3, 0.05))
    assert math.isnan(grubbs_critical(2, 0.05))


def test_that_precision_equals_the_glucose_study(shared_case):
    # R 4.2.2 on the data of R package ILS; ASTM E691.
    case = shared_case("ils_glucose_e691")
    rows = case["data"]["rows"]
    labs, materials = (sorted({row[i] for row in rows}) for i in (0, 1))
    values = np.array(
        [
            [[row[2] for row in rows if row[:2] == [lab, material]] for material in materials]
            for lab in labs
        ]
    )
    found = precision(values.mean(axis=2), values.std(axis=2, ddof=1), values.shape[2])
    fields = {
        "mean": found.mean,
        "s_xbar": found.sd_of_means,
        "s_r": found.repeatability_sd,
        "s_L": found.between_sd,
        "s_R": found.reproducibility_sd,
        "r=2.8 s_r": 2.8 * found.repeatability_sd,
        "R=2.8 s_R": 2.8 * found.reproducibility_sd,
        "Cochran C": found.cochran_c,
        "Grubbs G (single, two-sided)": found.grubbs_g,
    }
    compared = 0
    for entry in case["expected"]:
        material, _, name = entry["name"].partition(" ")
        if name not in fields:
            continue
        value = fields[name][materials.index(material)]
        if "printed_decimals" in entry:
            assert round(value, entry["printed_decimals"]) == entry["value"], entry["name"]
        else:
            assert value == pytest.approx(entry["value"], abs=1e-9), entry["name"]
        compared += 1
    assert compared == 9 + 9 * 5


def test_that_holes_are_passed_over():
    means = np.array([[5.0, 6.0], [5.5, np.nan], [6.0, 6.5]])
    found = precision(means, np.array([[0.5, 0.1], [0.5, np.nan], [0.5, 0.3]]), 2)
    assert found.mean.tolist() == [5.5, 6.25]
    assert found.cochran_c == pytest.approx([1 / 3, 0.9])
    assert found.grubbs_g[0] == pytest.approx(1)
