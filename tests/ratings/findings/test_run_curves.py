"""Curves of measured runs, and the axes that hold them."""

import math
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from ratings.findings.measured import measured
from ratings.findings.run_curves import (
    OVERALL,
    RunCurves,
    bands_over_speed,
    drawable,
    heard_spectra,
    level_map,
    levels_over_speed,
    map_range_db,
    predicted_cavity_hz,
    spectra,
    third_octave_spectra,
)


def run_of(code, arrays, number=1, is_level_true=True, worst=None):
    run = SimpleNamespace(
        set_code=code, run=number, is_level_true=is_level_true, recording_id=1, worst=worst
    )
    return RunCurves(run, drawable(arrays))


def spectrum(hz, *rows):
    names = ["1", "ears"][: len(rows)]
    return {
        "channels": np.array(names),
        "spectrum_hz": np.array(hz, np.float32),
        "spectrum_db": np.array(rows, np.float32),
    }


def test_that_a_set_is_drawn_as_the_mean_level_over_its_runs():
    curves = [
        run_of("417", spectrum([1, 2, 3], [10, 20, 30], [0, 0, 0])),
        run_of("417", spectrum([1, 2, 3], [20, 22, 36], [0, 0, 0]), number=2),
        run_of("862", spectrum([1, 2, 3], [1, 2, 3], [0, 0, 0])),
    ]
    one, other = spectra(curves, "1")
    assert (one.code, one.runs, one.y.tolist()) == ("417", 2, [15, 21, 33])
    assert (other.code, other.runs) == ("862", 1)


def test_that_runs_of_unlike_rates_are_averaged_where_both_have_lines():
    curves = [
        run_of("417", spectrum([1, 2, 3, 4], [10, 20, 30, 40])),
        run_of("417", spectrum([2, 3], [22, 34]), number=2),
    ]
    (curve,) = spectra(curves, "1")
    assert curve.x.tolist() == [2, 3]
    assert curve.y.tolist() == [21, 32]


def test_that_void_runs_are_left_out_of_curves():
    curves = [
        run_of("417", spectrum([1, 2], [10, 20])),
        run_of("417", spectrum([1, 2], [90, 90]), number=2, worst="void"),
    ]
    (curve,) = spectra(curves, "1")
    assert (curve.runs, curve.y.tolist()) == (1, [10, 20])


def test_that_a_channel_that_is_missing_gives_no_curve():
    assert spectra([run_of("417", spectrum([1, 2], [10, 20]))], "7") == ()
    assert spectra([run_of("417", {})], "1") == ()


def test_that_level_true_and_uncalibrated_runs_are_never_averaged():
    curves = [
        run_of("417", spectrum([1, 2], [60, 61])),
        run_of("417", spectrum([1, 2], [-30, -31]), number=2, is_level_true=False),
    ]
    (curve,) = spectra(curves, "1")
    assert curve.y.tolist() == [60, 61]
    assert curve.is_level_true


def test_that_a_curve_reads_its_nearest_point_and_nothing_outside():
    (curve,) = spectra([run_of("417", spectrum([10, 20, 40], [1, 2, math.nan]))], "1")
    assert curve.at(14.0) == 1
    assert curve.at(16.0) == 2
    assert curve.at(40.0) is None
    assert curve.at(9.9) is None
    assert curve.at(41.0) is None


def coast_down():
    hz = np.arange(1.0, 3001.0)
    speeds = np.array([80.0, 60.0, 40.0])
    levels = np.full((1, 3, hz.size), 20.0)
    levels[0, 1, 1499] = 75.0  # one line at 1500 Hz and 60 km/h
    return {
        "channels": np.array(["1"]),
        "map_hz": hz,
        "map_speed_km_h": speeds,
        "map_db": levels,
        "bins_km_h": np.array([42.5, 47.5]),
        "band_keys": np.array(["boom", "cavity"]),
        "band_against_speed_db": np.array([[[50.0, 52.0], [40.0, 44.0]]]),
        "leq_a_against_speed_db": np.array([[60.0, 61.0]]),
    }


def test_that_no_line_is_lost_when_a_map_is_put_on_a_logarithmic_axis():
    shown = level_map(run_of("417", coast_down()), "1")
    assert shown.rows.tolist() == [40, 60, 80]
    row, column = np.unravel_index(np.nanargmax(shown.level_db), shown.level_db.shape)
    assert row == 1
    assert shown.level_db[row, column] == 75
    assert 10 ** shown.log_hz[column] == pytest.approx(1500, rel=0.006)


def test_that_a_map_ends_where_the_measurement_ends():
    shown = level_map(run_of("417", coast_down()), "1")
    assert np.isnan(shown.level_db[:, 10**shown.log_hz > 3000]).all()
    assert np.isfinite(shown.level_db[:, 10**shown.log_hz < 2990]).all()


def test_that_all_maps_share_colours_down_to_sixty_decibels_below_the_loudest():
    quiet = coast_down()
    quiet["map_db"] = quiet["map_db"] - 40.0
    curves = [
        run_of("862", quiet),
        run_of("417", coast_down()),
        run_of("205", coast_down() | {"map_db": quiet["map_db"] + 90.0}, is_level_true=False),
    ]
    assert map_range_db(curves, "1", is_level_true=True) == (20.0, 80.0)
    assert map_range_db(curves[:1], "1", is_level_true=True) == (-20.0, 40.0)
    assert map_range_db([], "1", is_level_true=True) == (-60.0, 0.0)


def test_that_a_run_without_a_map_has_none():
    assert level_map(run_of("417", spectrum([1, 2], [1, 2])), "1") is None


def test_that_levels_over_speed_are_those_of_the_band():
    curves = [run_of("417", coast_down())]
    assert bands_over_speed(curves) == (OVERALL, "boom", "cavity")
    assert levels_over_speed(curves, "1", "cavity")[0].y.tolist() == [40, 44]
    assert levels_over_speed(curves, "1", OVERALL)[0].y.tolist() == [60, 61]
    assert levels_over_speed(curves, "1", "hiss") == ()


def test_that_the_cavity_is_expected_where_any_run_expects_it():
    curves = [
        run_of("417", {"cavity_predicted_hz": np.array([204.0, 226.0])}),
        run_of("862", {"cavity_predicted_hz": np.array([208.0, 230.0])}),
        run_of("205", {}),
    ]
    assert predicted_cavity_hz(curves) == (204.0, 230.0)
    assert predicted_cavity_hz([]) is None


def test_that_a_spectrum_is_shown_where_it_can_be_heard_and_is_known():
    hz = [10, 20, 1000, 12_500, 12_600]
    curves = [
        run_of("417", spectrum(hz, [1, 2, math.nan, 4, 5])),
        run_of("862", spectrum([5, 10], [1, 2])),
    ]
    (curve,) = heard_spectra(curves, "1")
    assert (curve.code, curve.x.tolist(), curve.y.tolist()) == ("417", [20, 12_500], [2, 4])


def test_that_third_octaves_of_a_set_are_in_the_order_of_their_frequencies():
    columns = ["set", "condition", "run", "channel", "figure", "unit", "value"]
    rows = [
        ("417", "rough", run, "ears", figure, "dB", level_db + run)
        for run in (1, 3)
        for figure, level_db in (("third_octave_100", 40), ("third_octave_50", 30), ("leq_a", 70))
    ]
    (curve,) = third_octave_spectra(
        measured(pd.DataFrame(rows, columns=columns), "862").block("rough", "ears")
    )
    assert curve.x == pytest.approx([50, 100], rel=0.01)
    assert (curve.y.tolist(), curve.runs, curve.is_level_true) == ([32, 42], 2, True)


def test_that_a_map_reads_its_nearest_level_or_the_loudest_at_a_frequency():
    shown = level_map(run_of("417", coast_down()), "1")
    log_hz = math.log10(1500)
    assert shown.near(log_hz, 59.0) == (60.0, 75.0)
    assert shown.near(log_hz, 41.0) == (40.0, 20.0)
    assert shown.near(log_hz, math.nan) == (60.0, 75.0)
    assert shown.near(math.log10(5000), 60.0) == (60.0, None)
