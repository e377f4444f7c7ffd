import math

import pytest

from app.playback.dose import Listened, level_in_words, minutes_in_words, percent_in_words
from ratings.storage.exposure_rows import Played


def test_that_stretches_add_up_by_energy_and_unknown_levels_stay_out_of_the_dose():
    listened = Listened.of([Played(600, 70.0), Played(600, 76.0), Played(90, None)])
    assert listened.played_s == 1290
    assert listened.unknown_s == 90
    # ISO 1999:2013, 3.4 (equivalent level as the mean of energy; from memory): by hand.
    mean_db = 10 * math.log10((10**7.0 + 10**7.6) / 2)
    assert listened.known.level_db_a == pytest.approx(mean_db)


def test_that_adding_a_stretch_is_the_same_as_adding_all():
    stretches = [Played(600, 70.0), Played(30, None), Played(10, -math.inf), Played(5, 88.0)]
    one_by_one = Listened()
    for stretch in stretches:
        one_by_one = one_by_one.plus(*stretch)
    assert one_by_one.known.niosh_dose_percent == pytest.approx(
        Listened.of(stretches).known.niosh_dose_percent
    )
    assert one_by_one.played_s == Listened.of(stretches).played_s == 645


# NIOSH publication 98-126 (1998), table 1-1: 85 dB(A) 8 h, 88 4 h, 94 1 h, 100 15 min. The dose
# goes by energy, of which 3 dB is the rounded form: up to 1.2 % less.
@pytest.mark.parametrize(("level", "hours"), [(85, 8), (88, 4), (94, 1), (100, 0.25)])
def test_that_the_table_of_niosh_makes_a_day(level, hours):
    assert Listened.of([Played(hours * 3600, float(level))]).day_percent in (99, 100)
    assert Listened.of([Played(hours * 1800, float(level))]).day_percent in (49, 50)


def test_that_half_and_full_begin_at_their_mark():
    hour = 3600
    assert not Listened.of([Played(3.9 * hour, 85.0)]).is_half
    assert Listened.of([Played(4 * hour, 85.0)]).is_half
    assert not Listened.of([Played(7.9 * hour, 85.0)]).is_full
    assert Listened.of([Played(8 * hour, 85.0)]).is_full


def test_that_nothing_played_is_no_dose():
    assert Listened().played_s == 0
    assert not Listened().is_half


def test_that_times_are_said_in_whole_minutes():
    seconds = (20, 31, 34 * 60, 3600, 7800)
    words = [minutes_in_words(s) for s in seconds]
    assert words == ["less than 1 min", "1 min", "34 min", "1 h", "2 h 10 min"]


def test_that_shares_and_levels_are_said_in_whole_numbers():
    assert [percent_in_words(p) for p in (0.0, 0.4, 1.2, 103.4)] == [
        "less than 1 %",
        "less than 1 %",
        "1 %",
        "103 %",
    ]
    assert level_in_words(70.7) == "71 dB(A) on average"
    assert level_in_words(-math.inf) == "silence"
