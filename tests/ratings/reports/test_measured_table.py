"""Curves and maps of measured sets as tables."""

import math

import numpy as np

from ratings.findings.run_curves import Curve, LevelMap
from ratings.reports.measured_table import map_table, spectrum_table, speed_table

CALIBRATED = Curve("417", np.array([20.0, 40.0]), np.array([50.126, math.nan]), 2, True)
OTHER = Curve("862", np.array([20.0, 30.0]), np.array([-31.0, -32.0]), 1, False)


def test_that_spectra_stand_beside_each_other_with_their_units_and_gaps():
    assert spectrum_table([CALIBRATED, OTHER]) == [
        [
            "frequency in Hz",
            "417 in dB re 20 µPa, unweighted",
            "862 in dB re full scale, not calibrated, unweighted",
        ],
        ["20", "50.13", "-31.00"],
        ["30", "", "-32.00"],
        ["40", "", ""],
    ]
    assert spectrum_table([]) == [["frequency in Hz"]]


def test_that_levels_over_speed_tell_their_weighting():
    head, first, _ = speed_table([CALIBRATED], "A-weighted")
    assert head == ["speed in km/h", "417 in dB re 20 µPa, A-weighted"]
    assert first == ["20", "50.13"]


def test_that_a_map_is_a_row_for_each_speed_and_a_column_for_each_frequency():
    levels = np.array([[10.04, math.nan], [30.0, 40.0]])
    shown = LevelMap(np.array([2.0, 3.0]), np.array([40.0, 41.5]), levels, True, True)
    assert map_table(shown) == [
        ["speed in km/h", "100.0 Hz", "1000.0 Hz"],
        ["40", "10.0", ""],
        ["41.5", "30.0", "40.0"],
    ]
