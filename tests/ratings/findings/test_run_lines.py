"""Lines that measuring found, on the map of a run, and shifts in words."""

import math
from datetime import UTC, datetime

import numpy as np
import pytest

from ratings.acoustics.rolling.tonal_shifts import TonalShift
from ratings.findings.run_curves import LevelMap, RunCurves
from ratings.findings.run_lines import (
    found_lines,
    found_shifts,
    marked_line,
    pattern_line,
    shift_sentence,
)
from ratings.study.runs import Run
from ratings.study.sets import Condition

TURN_M = 2.0
RIDGES = (
    # channel, order, hz, turns, from, to, height
    ("1", 64.0, math.nan, 0, 40, 80, 6.0),
    ("2", 64.25, math.nan, 0, 45, 80, 5.0),  # the same in the other ear
    ("2", 65.0, math.nan, 0, 45, 80, 4.0),  # its neighbour
    ("1", math.nan, 210.0, -1, 40, 80, 9.0),
    ("3", math.nan, 300.0, 0, 40, 80, 20.0),
)
SHIFTS = (
    # channel, kind, band, km/h, Hz, dB
    ("1", "appears", "", 60, 740, 8),
    ("2", "appears", "", 61, 745, 7),
    ("2", "band departs", "pattern", 59, 741, 4),
    ("1", "band departs", "pattern", 59, 741, 5),
    ("1", "band departs", "hiss", 59, 741, 3),
    ("3", "jumps", "", 50, 300, -9),
)


def coasting(ridges=RIDGES, shifts=SHIFTS, pitches=64):
    road = Condition(1, "smooth asphalt", "coast-down", 80.0, 40.0)
    run = Run(
        1, "417", road, 1, 3, 48000, 12.0, ("driver left ear", "driver right ear", "other"),
        True, True, datetime(2026, 1, 1, tzinfo=UTC), None,
    )  # fmt: skip
    arrays = {"channels": np.array(["1", "2", "3", "ears"]), "turn_m": np.array(TURN_M)}
    for name, rows, keys in (
        ("ridge", ridges, ("order", "hz", "turns", "low_km_h", "high_km_h", "height_db")),
        ("shift", shifts, ("kind", "band", "km_h", "hz", "db")),
    ):
        for place, key in enumerate(("channel", *keys)):
            arrays[f"{name}_{key}"] = np.array([row[place] for row in rows])
    return RunCurves(run, arrays, pitches)


def a_map(is_over_speed=True):
    rows = np.linspace(40.0, 80.0, 81)
    log_hz = np.linspace(math.log10(20), 4, 600)
    return LevelMap(log_hz, rows, np.zeros((rows.size, log_hz.size)), is_over_speed, True)


def test_that_ridges_of_both_ears_are_told_once_and_neighbouring_orders_apart():
    lines = found_lines(coasting(), "ears")
    assert [line.words for line in lines] == ["202 Hz", "order 64", "order 65"]
    assert [line.follows_speed for line in lines] == [False, True, True]


def test_that_a_channel_shows_its_own_ridges_only():
    assert [line.words for line in found_lines(coasting(), "3")] == ["300 Hz"]
    assert [line.words for line in found_lines(coasting(), "2")] == ["order 64.2", "order 65"]


def test_that_a_ridge_lies_where_the_wheel_turns():
    cavity, order, _ = found_lines(coasting(), "ears")
    # 72 km/h are 20 m/s: ten turns of 2 m in a second.
    assert order.at(72.0) == pytest.approx(640.0)
    assert cavity.at(72.0) == pytest.approx(200.0)
    log_hz, rows = order.points(a_map())
    assert (rows[0], rows[-1]) == (40.0, 80.0)
    assert 10 ** log_hz[0] == pytest.approx(64 * 40 / 3.6 / 2)


def test_that_the_pattern_is_expected_from_size_and_pitches():
    line = pattern_line(coasting())
    assert line.words == "pattern expected, order 64"
    assert line.at(72.0) == pytest.approx(640.0)
    assert pattern_line(coasting(pitches=None)) is None


def test_that_without_a_size_nothing_is_drawn():
    each = coasting()
    bare = RunCurves(each.run, {k: v for k, v in each.arrays.items() if k != "turn_m"}, 64)
    assert found_lines(bare, "ears") == ()
    assert pattern_line(bare) is None


def test_that_a_line_with_speed_is_not_drawn_over_time():
    log_hz, rows = marked_line(300.0, 60.0).points(a_map(is_over_speed=False))
    assert log_hz.size == rows.size == 0
    assert marked_line(300.0).points(a_map(is_over_speed=False))[0].size


def test_that_shifts_are_told_from_high_speed_down_and_once_for_both_ears():
    assert shift_sentence(coasting(), "ears") == (
        "A 740 Hz tone starts at 60 km/h (8 dB above the level just before); "
        "the pattern band swells at 59 km/h, 5 dB above its usual course; "
        "the hiss band swells at 59 km/h, 3 dB above its usual course."
    )
    assert shift_sentence(coasting(), "3") == "A 300 Hz tone gets 9 dB quieter at 50 km/h."


def test_that_a_shift_keeps_its_kind_band_and_numbers():
    assert found_shifts(coasting(), "3") == (TonalShift("jumps", 50.0, 300.0, -9.0),)
    tone, *bands = found_shifts(coasting(), "ears")
    assert (tone.kind, tone.band, tone.change_db) == ("appears", None, 8)
    # At the frequency of the tone, and at that of each other: told apart by their names.
    assert [(each.band, each.change_db) for each in bands] == [("pattern", 5), ("hiss", 3)]


def test_that_nothing_is_said_where_nothing_happens():
    assert shift_sentence(coasting(shifts=()), "ears") == ""


def test_that_only_the_strongest_shifts_are_told_and_the_others_counted():
    many = [("1", "appears", "", v, 900 + v, v) for v in range(40, 80, 5)]
    told = shift_sentence(coasting(shifts=many), "1")
    assert told.startswith("A 975 Hz tone starts at 75 km/h")
    assert told.endswith(
        "a 955 Hz tone starts at 55 km/h (55 dB above the level just before); and 3 weaker."
    )
