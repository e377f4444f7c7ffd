import pytest

from app.listening.exposure_words import (
    dose_words,
    full_notice,
    half_notice,
    seat_words,
    stop_words,
    to_come_words,
    today_words,
)
from app.playback.dose import Listened
from ratings.storage.exposure_rows import Played

MINUTE = 60.0


def listened(*stretches):
    return Listened.of([Played(minutes * MINUTE, level) for minutes, level in stretches])


def test_that_a_day_is_told_with_minutes_level_and_dose():
    # 34 min at 87.7 dB(A): 34 / 480 x 10^0.27 = 13.2 %.
    assert today_words(listened((34, 87.7))) == (
        "Today: 34 min played, 88 dB(A) on average, 13 % of a day's allowed dose (NIOSH, 85 dB(A), "
        "8 h)."
    )
    assert seat_words(listened((34, 87.7))) == "34 min today, 13 % of a day's allowed dose"


def test_that_without_a_level_minutes_are_told_and_no_dose():
    assert today_words(listened((34, None))) == (
        "Today: 34 min played; level not known, so no dose."
    )
    assert seat_words(listened((34, None))) == "34 min today, dose not known"


def test_that_a_day_partly_at_a_known_level_says_how_much_of_it():
    words = today_words(listened((20, 71.0), (14, None)))
    assert words.startswith("Today: 34 min played; of 20 min the level is known: 71 dB(A)")
    assert words.endswith("The rest is not in the dose.")


def test_that_a_few_clips_give_no_level_that_could_tell_them_apart():
    words = today_words(listened((1, 71.0))) + seat_words(listened((1, 71.0)))
    assert words == "Today: 1 min played; level and dose are told from 10 min on.1 min today"
    assert "dB(A)" not in words
    assert "71 dB(A)" in today_words(listened((10, 71.0)))


def test_that_much_sound_is_told_at_once_however_short_it_was():
    assert "%" in today_words(listened((5, 106.0)))


def test_that_nothing_played_is_said_plainly():
    assert today_words(Listened()) == "Today: nothing played yet."
    assert seat_words(Listened()) == ""
    assert dose_words(Listened()) == ""


def test_that_the_sum_does_not_tell_early_how_loud_a_side_played_alone_was():
    quiet, loud = (to_come_words(listened((9, level)), 600.0, 90.0) for level in (70.0, 95.0))
    assert quiet == loud
    quiet, loud = (to_come_words(listened((11, level)), 600.0, 90.0) for level in (70.0, 95.0))
    assert quiet != loud


def test_that_what_is_to_come_is_added_to_what_was():
    # 25 min at 80 dB(A) make 25 / 480 x 10^-0.5 = 1.65 %, on top of 4 % for 12 min at 87.04.
    today = listened((12, 87.0412))
    assert to_come_words(today, 25 * MINUTE, 80.0) == (
        "Still to come: about 25 min more at the level of this session, 6 % of a day's allowed "
        "dose with it."
    )
    assert to_come_words(today, 25 * MINUTE, None) == (
        "Still to come: about 25 min more, at a level that is not known."
    )


@pytest.mark.parametrize(
    ("hours", "begins"),
    [(3.9, ""), (4.0, "That is more than half"), (8.0, "That is a full day's dose: please stop")],
)
def test_that_half_and_all_of_a_dose_are_said(hours, begins):
    words = dose_words(listened((hours * 60, 85.0)))
    assert words.startswith(begins)
    assert bool(words) == bool(begins)


def test_that_every_request_puts_the_rules_of_the_site_first():
    full = listened((480, 85.0))
    for words in (dose_words(full), stop_words(), str(half_notice()), str(full_notice())):
        assert "Site rules and local codes come first." in words
