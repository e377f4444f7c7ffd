"""The line of a set over its runs is one line in all of them."""

import pandas as pd
import pytest

from ratings.findings.cavity_runs import one_line_over_runs
from ratings.findings.measured import measured

ROUGH = "coarse asphalt, 80 km/h"
COLUMNS = ["set", "condition", "run", "channel", "figure", "unit", "value"]


def pair(lower: tuple[float, float], upper: tuple[float, float], total_db: float) -> dict:
    strongest = max(lower, upper, key=lambda line: line[1])
    return {
        "cavity_line_hz": strongest[0],
        "cavity_line_level": total_db,
        "cavity_line_lower_hz": lower[0],
        "cavity_line_lower_level": lower[1],
        "cavity_line_upper_hz": upper[0],
        "cavity_line_upper_level": upper[1],
    }


def single(hz: float, level_db: float) -> dict:
    return {"cavity_line_hz": hz, "cavity_line_level": level_db}


def test_that_the_strongest_lines_of_a_pair_are_not_averaged() -> None:
    # Now the lower, now the upper one is stronger: 210.7, 226.6 and 226.4 Hz were 221.2 +/- 9 Hz.
    runs = {
        1: pair((210.7, 61.0), (226.6, 60.5), 63.8),
        2: pair((210.2, 60.1), (226.6, 61.9), 64.1),
        3: pair((210.4, 60.0), (226.4, 61.0), 63.5),
    }
    found = one_line_over_runs(runs)
    assert [found[run]["cavity_line_hz"] for run in (1, 2, 3)] == [226.6, 226.6, 226.4]
    assert [found[run]["cavity_line_level"] for run in (1, 2, 3)] == [63.8, 64.1, 63.5]


def test_that_a_run_with_one_line_of_the_pair_gives_no_level_of_both() -> None:
    runs = {
        1: pair((210.7, 60.0), (226.6, 61.5), 63.8),
        2: pair((210.2, 60.1), (226.6, 61.9), 64.1),
        3: single(226.1, 61.0),
        4: single(210.5, 60.0),
    }
    runs[5] = pair((210.3, 60.1), (226.3, 61.9), 64.0)
    found = one_line_over_runs(runs)
    assert found[3] == {"cavity_line_hz": 226.1}
    assert 4 not in found
    assert found[5]["cavity_line_level"] == 64.0


def test_that_most_runs_say_which_single_line_it_is() -> None:
    runs = {1: single(211.0, 60.0), 2: single(226.0, 62.0), 3: single(212.0, 60.4)}
    runs[4] = pair((210.0, 59.8), (226.0, 62.0), 64.0)
    found = one_line_over_runs(runs)
    assert sorted(found) == [1, 3, 4]
    assert found[4] == {"cavity_line_hz": 210.0, "cavity_line_level": 59.8}


def test_that_no_line_in_any_run_is_nothing() -> None:
    assert one_line_over_runs({1: {}, 2: {"cavity_line_hz": float("nan")}}) == {}


def test_that_the_comparison_of_sets_takes_one_line_and_tells_the_other_runs() -> None:
    sets = {
        "862": [single(211.0, 60.0), single(226.9, 60.2), single(211.4, 60.1)],
        "417": [single(211.1, 56.0), single(211.0, 56.2), single(211.3, 56.1)],
    }
    rows = [
        (code, ROUGH, run, "ears", key, "Hz" if key.endswith("hz") else "dB", value)
        for code, runs in sets.items()
        for run, figures in enumerate(runs, start=1)
        for key, value in figures.items()
    ]
    found = measured(pd.DataFrame(rows, columns=COLUMNS), "862")
    by_key = {finding.key: finding for finding in found.findings}
    control = by_key["cavity_line_hz"].of_set("862")
    assert control.mean == pytest.approx(211.2)
    assert control.left_out == ((2, "line not found"),)
    level = by_key["cavity_line_level"]
    assert level.of_set("862").by_run == (60.0, 60.1)
    assert level.difference_of("417").difference == pytest.approx(-3.95)


def test_that_a_pair_compared_with_a_single_line_is_told() -> None:
    both = [pair((210.7, 60.0), (226.6, level_db), 63.8) for level_db in (61.5, 61.9)]
    sets = {"862": both, "417": [single(226.0, 58.0), single(226.2, 58.3)], "903": both}
    rows = [
        (code, ROUGH, run, "ears", key, "Hz" if key.endswith("hz") else "dB", value + 0.1 * run)
        for code, runs in sets.items()
        for run, figures in enumerate(runs, start=1)
        for key, value in figures.items()
    ]
    found = measured(pd.DataFrame(rows, columns=COLUMNS), "862")
    level = next(each for each in found.findings if each.key == "cavity_line_level")
    told = "the level of one line, in the control of both lines of a pair"
    assert level.difference_of("417").reason == told
    assert level.difference_of("903").reason == ""
