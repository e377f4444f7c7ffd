"""Exposure and dose against the published tables."""

import math

import pytest

from ratings.acoustics.exposure import WEEKLY_LEVEL_DB_A, WORKING_WEEK_S, Exposure, allowed_s
from ratings.errors import MeasurementError


# NIOSH publication 98-126, table 1-1 (combinations of level and time).
@pytest.mark.parametrize(
    ("level_db_a", "minutes"), [(85, 480), (88, 240), (91, 120), (94, 60), (97, 30), (100, 15)]
)
def test_that_the_allowed_times_are_those_of_niosh(level_db_a, minutes):
    assert allowed_s(level_db_a) == pytest.approx(60 * minutes, rel=1e-12)
    dose = Exposure.of(level_db_a, 60 * minutes).niosh_dose_percent
    # Equal energy is 3.01 dB per doubling, the table 3 dB.
    assert dose == pytest.approx(100.0, rel=0.013)


def test_that_88_db_for_4_hours_is_the_whole_day():
    assert Exposure.of(88.0, 4 * 3600).niosh_dose_percent == pytest.approx(100.0, abs=0.5)


# Hours per week from equal energy with 80 dB(A) for 40 h (ITU-T H.870).
@pytest.mark.parametrize(
    ("level_db_a", "hours"), [(75, 126), (80, 40), (83, 20), (85, 12.7), (90, 4)]
)
def test_that_the_weekly_hours_are_those_of_h870(level_db_a, hours):
    assert Exposure.of(level_db_a, hours * 3600).weekly_dose_percent == pytest.approx(100, rel=0.01)
    exchange_db = 10 * math.log10(2)
    allowed = allowed_s(level_db_a, WEEKLY_LEVEL_DB_A, WORKING_WEEK_S, exchange_db)
    assert allowed / 3600 == pytest.approx(hours, rel=0.01)


def test_that_a_whole_week_is_1_6_pa2_h():
    # ITU-T H.870: 80 dB(A) for 40 h.
    assert Exposure.of(80.0, 40 * 3600).energy_pa2_h == pytest.approx(1.6, rel=1e-12)


def test_that_a_day_at_85_db_is_about_1_pa2_h():
    # IEC 61252: 3640 Pa^2 s (from memory) is 8 h at 85 dB(A).
    assert 3600 * Exposure.of(85.0, 8 * 3600).energy_pa2_h == pytest.approx(3640, rel=0.002)


def test_that_exposures_add_up_and_keep_their_mean_level():
    total = Exposure() + Exposure.of(80.0, 3600) + Exposure.of(-math.inf, 3600)
    assert total.level_db_a == pytest.approx(80 - 10 * math.log10(2))
    assert total.daily_level_db_a == pytest.approx(80 - 10 * math.log10(8))
    assert total.duration_s == 7200


def test_that_silence_has_no_level_and_no_dose():
    silence = Exposure.of(-math.inf, 3600)
    assert silence.level_db_a == silence.daily_level_db_a == -math.inf
    assert silence.niosh_dose_percent == 0
    assert allowed_s(-math.inf) == math.inf
    assert silence.in_words() == "Nothing was heard. Site rules and local codes come first."


@pytest.mark.parametrize(
    ("level_db_a", "words"),
    [
        (79.9, "below the action values"),
        (80.0, "lower action value of 80"),
        (85.0, "upper action value of 85"),
        (87.0, "upper action value of 85"),
        (87.1, "above the limit of 87"),
    ],
)
def test_that_a_day_is_told_against_the_values_of_2003_10_ec(level_db_a, words):
    assert words in Exposure.of(level_db_a, 8 * 3600).action_in_words()


def test_that_an_exposure_is_told_in_one_breath():
    assert Exposure.of(78.0, 1800).in_words() == (
        "30 min at 78.0 dB(A): over a working day of 8 h that is 66.0 dB(A), 1 % of the daily dose "
        "of NIOSH and less than 1 % of the weekly dose of ITU-T H.870. This stays below the action "
        "values of 2003/10/EC. Site rules and local codes come first."
    )


@pytest.mark.parametrize("level_db_a", [math.nan, math.inf])
def test_that_an_unknown_level_is_refused(level_db_a):
    with pytest.raises(MeasurementError, match="not known"):
        Exposure.of(level_db_a, 1.0)


@pytest.mark.parametrize("duration_s", [-1.0, math.nan, math.inf])
def test_that_an_impossible_time_is_refused(duration_s):
    with pytest.raises(MeasurementError, match="not a listening time"):
        Exposure.of(80.0, duration_s)
