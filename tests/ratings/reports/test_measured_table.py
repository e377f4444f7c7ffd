"""Curves and maps of measured sets as tables."""

import math

import numpy as np
import pandas as pd

from ratings.findings.measured import measured
from ratings.findings.run_curves import Curve, LevelMap
from ratings.reports.measured_table import figure_table, map_table, spectrum_table, speed_table

CALIBRATED = Curve("417", np.array([20.0, 40.0]), np.array([50.126, math.nan]), 2, True)
OTHER = Curve("862", np.array([20.0, 30.0]), np.array([-31.0, -32.0]), 1, False)


def test_that_spectra_stand_beside_each_other_with_their_units_and_gaps():
    assert spectrum_table([CALIBRATED, OTHER]) == [
        [
            "frequency in Hz",
            "417, 2 runs, in dB re 20 µPa, unweighted",
            "862, 1 run, in dB re full scale, not calibrated, unweighted",
        ],
        ["20", "50.13", "-31.00"],
        ["30", "", "-32.00"],
        ["40", "", ""],
    ]
    assert spectrum_table([]) == [["frequency in Hz"]]


def test_that_levels_over_speed_tell_their_weighting():
    head, first, _ = speed_table([CALIBRATED], "A-weighted")
    assert head == ["speed in km/h", "417, 2 runs, in dB re 20 µPa, A-weighted"]
    assert first == ["20", "50.13"]


def test_that_a_map_is_a_row_for_each_speed_and_a_column_for_each_frequency():
    levels = np.array([[10.04, math.nan], [30.0, 40.0]])
    shown = LevelMap(np.array([2.0, 3.0]), np.array([40.0, 41.5]), levels, True, True)
    assert map_table(shown) == [
        ["speed in km/h", "100.0 Hz", "1000.0 Hz"],
        ["40", "10.0", ""],
        ["41.5", "30.0", "40.0"],
    ]


def figures_of(cells, void=()):
    """{(figure, unit): {set: values over runs}} beside the control 862; rows by figure and set."""
    rows = [
        (code, "coarse", run, "ears", figure, unit, value)
        for (figure, unit), by_set in cells.items()
        for code, values in by_set.items()
        for run, value in enumerate(values, start=1)
    ]
    columns = ["set", "condition", "run", "channel", "figure", "unit", "value"]
    found = measured(pd.DataFrame(rows, columns=columns), "862", void=void)
    head, *body = figure_table(found.findings)
    named = [dict(zip(head, row, strict=True)) for row in body]
    return found, {(row["figure"], row["set"]): row for row in named}


def test_that_a_table_of_figures_carries_what_the_page_marks():
    found, rows = figures_of(
        {
            ("leq_a", "dB(A)"): {"417": [66.0, 66.1, 66.2], "862": [70.0, 70.1, 70.2]},
            ("band_boom", "dB"): {"417": [70.4, 70.5, 70.45], "862": [70.0, 70.1, 70.05]},
            ("roughness", "asper"): {"417": [0.5, 0.6, 0.7], "862": [0.5, 0.6, 0.72]},
            ("leq", "dB"): {"417": [80.0, 80.1, 80.2], "862": [88.0, 88.1, 88.2]},
            ("cavity_line_hz", "Hz"): {"417": [200.0, 201.0, 202.0], "862": [220, 221, 222]},
        }
    )
    told = {key: (row["clear"], row["ears notice"]) for key, row in rows.items()}
    assert told["Level, A-weighted", "417"] == ("yes", "yes")
    assert told["Boom band, unweighted", "417"] == ("yes", "no")
    assert told["Roughness", "417"] == ("no", "no")
    assert told["Level, unweighted", "417"] == ("not compared", "yes")
    assert told["Cavity line, frequency", "417"] == ("not compared", "not known")
    assert {told[key] for key in rows if key[1] == "862"} == {("", "")}
    each = next(f for f in found.findings if f.key == "band_boom").difference_of("417")
    row = rows["Boom band, unweighted", "417"]
    assert each.p < each.p_holm
    assert (row["p"], row["p adjusted (Holm)"]) == (f"{each.p:.4f}", f"{each.p_holm:.4f}")
    assert rows["Level, unweighted", "417"]["p adjusted (Holm)"] == ""


def test_that_a_table_of_figures_names_the_runs_left_out_and_what_cannot_be_told():
    _, rows = figures_of(
        {("cavity_line_level", "dB"): {"417": [60.0, 61.0, math.nan], "862": [64.0, 64.1, 64.2]}},
        void=[("417", "coarse", 1)],
    )
    row = rows["Cavity line, level, unweighted", "417"]
    assert (row["runs"], row["runs left out"]) == ("1", "run 1: void; run 3: line not found")
    assert row["clear"] == "cannot be told"
    assert "shown, not claimed" in row["remark"]
