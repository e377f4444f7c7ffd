"""Runs of one condition that lie too far apart."""

import pandas as pd
import pytest

from ratings.findings.repeats import repeat_findings


def table(levels_by_run, figure: str = "band_boom", channel: str = "ears", unit: str = "dB"):
    return pd.DataFrame(
        [
            ["417", "coarse asphalt, 80 km/h", run, channel, figure, unit, level]
            for run, level in enumerate(levels_by_run, start=1)
        ],
        columns=["set", "condition", "run", "channel", "figure", "unit", "value"],
    )


def test_that_runs_within_a_decibel_are_fine() -> None:
    assert repeat_findings(table([60.0, 60.4, 60.9])) == ()


def test_that_a_band_more_than_a_decibel_apart_is_said_with_the_odd_run() -> None:
    (found,) = repeat_findings(table([60.0, 60.2, 61.6]))
    assert (found.set, found.runs) == ("417", (1, 2, 3))
    (remark,) = found.remarks
    assert "1.6 dB apart in the boom band" in remark.sentence
    assert "run 3" in remark.sentence


def test_that_the_odd_run_goes_by_its_own_number() -> None:
    runs = table([60.0, 60.2, 61.6])
    runs["run"] += 3
    (found,) = repeat_findings(runs)
    assert "run 6 is farthest" in found.remarks[0].sentence


@pytest.mark.parametrize(("apart_db", "count"), [(1.9, 0), (2.1, 1)])
def test_that_narrow_bands_may_lie_two_decibels_apart(apart_db: float, count: int) -> None:
    assert len(repeat_findings(table([60, 60 + apart_db], "third_octave_200"))) == count


def test_that_weighted_bands_and_other_units_say_nothing_twice() -> None:
    both = pd.concat([table([60, 63], "band_boom_a"), table([10, 14], "loudness_n", unit="sone")])
    assert repeat_findings(both) == ()


def test_that_the_first_channel_stands_in_where_no_ears_are_measured() -> None:
    both = pd.concat([table([60, 63], channel="1"), table([60, 70], channel="2")])
    (found,) = repeat_findings(both)
    assert "3.0 dB" in found.remarks[0].sentence


def test_that_runs_with_and_without_calibration_are_not_compared() -> None:
    uncalibrated = table([-31.0, -33.0], unit="dB re full scale")
    (found,) = repeat_findings(uncalibrated)
    assert "2.0 dB" in found.remarks[0].sentence
    uncalibrated["run"] += 2
    assert repeat_findings(pd.concat([table([60.0, 60.4]), uncalibrated])) == ()


def test_that_an_empty_table_has_no_findings() -> None:
    assert repeat_findings(table([])) == ()
