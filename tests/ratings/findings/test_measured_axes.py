"""Axes that are the same for every set, condition and channel."""

import math
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from ratings.findings.measured import measured
from ratings.findings.measured_axes import (
    Axis,
    difference_axis,
    difference_step,
    levels_axis,
    spectrum_axis,
    speed_levels_axis,
    third_octave_axis,
)
from ratings.findings.run_curves import RunCurves

COLUMNS = ["set", "condition", "run", "channel", "figure", "unit", "value"]


def found_of(rows):
    return measured(pd.DataFrame(rows, columns=COLUMNS), "862")


def test_that_the_spectrum_axis_is_one_for_all_sets_and_conditions():
    rows = [
        ("862", "rough", 1, "ears", "third_octave_100", "dB", 71.0),
        ("417", "smooth", 1, "ears", "third_octave_10000", "dB", 24.0),
        ("205", "smooth", 1, "ears", "third_octave_100", "dB re full scale", -35.0),
    ]
    axis = spectrum_axis(found_of(rows), is_level_true=True)
    # The third octave at 10 kHz is 2316 Hz wide: 24 dB in it are -9.6 dB in each hertz.
    assert axis == Axis(-20.0, 80.0)
    assert spectrum_axis(found_of(rows), is_level_true=False).high == -30.0


def test_that_third_octaves_have_an_axis_of_their_own():
    rows = [
        ("862", "rough", 1, "ears", "third_octave_100", "dB", 71.0),
        ("417", "smooth", 1, "1", "third_octave_10000", "dB", 24.0),
        ("417", "smooth", 1, "1", "band_boom", "dB", 99.0),
    ]
    assert third_octave_axis(found_of(rows), is_level_true=True) == Axis(20.0, 80.0)


def test_that_axes_without_data_still_have_two_ends():
    empty = found_of([])
    assert spectrum_axis(empty, is_level_true=True).low < 100
    assert levels_axis([]) == Axis(0.0, 100.0)
    assert difference_axis(empty) == Axis(-4.0, 4.0)
    assert levels_axis([60.0, 60.0, -math.inf]) == Axis(60.0, 70.0)


def test_that_the_difference_axis_holds_every_interval_alike_on_both_sides():
    rows = [
        (code, "rough", run, "ears", "band_boom", "dB", value)
        for code, values in {"862": (60.0, 61.0), "417": (52.0, 53.0)}.items()
        for run, value in enumerate(values, 1)
    ]
    found = found_of(rows)
    each = found.findings[0].difference_of("417")
    axis = difference_axis(found)
    assert axis.low == -axis.high
    assert axis.high >= abs(each.low) > axis.high - 2


def test_that_one_run_of_a_wrong_level_does_not_press_the_others_into_the_middle():
    levels = {"862": (60.0, 120.0), "417": (62.0, 62.2)}
    found = found_of(
        (code, "rough", run, "ears", "band_boom", "dB", value)
        for code, values in levels.items()
        for run, value in enumerate(values, 1)
    )
    each = found.findings[0].difference_of("417")
    axis = difference_axis(found)
    # An interval of some hundred decibels is cut, the difference itself is not.
    assert abs(each.low) > axis.high >= 3 * abs(each.difference) - 2


@pytest.mark.parametrize("high", [4.0, 8.0, 22.0, 84.0, 800.0])
def test_that_the_marks_of_the_difference_axis_keep_their_distance(high):
    step = difference_step(Axis(-high, high))
    assert 2 <= high / step <= 5
    assert step in (2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0)


def test_that_one_axis_holds_every_band_over_speed():
    run = SimpleNamespace(set_code="417", is_level_true=True, worst=None)
    arrays = {
        "channels": np.array(["1"]),
        "bins_km_h": np.array([42.5, 47.5]),
        "band_keys": np.array(["boom"]),
        "band_against_speed_db": np.array([[[32.0, 41.0]]]),
        "leq_a_against_speed_db": np.array([[60.0, 61.0]]),
    }
    curves = [RunCurves(run, arrays)]
    assert speed_levels_axis(curves, "1", is_level_true=True) == Axis(30.0, 70.0)
    assert speed_levels_axis(curves, "1", is_level_true=False) == Axis(0.0, 100.0)
