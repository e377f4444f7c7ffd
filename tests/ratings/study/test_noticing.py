"""What ears notice side by side: thresholds by kind of figure, and the words for them."""

import math

import pytest

from ratings.study.noticing import (
    NOTICING,
    Noticing,
    Threshold,
    is_noticeable,
    noticing_words,
    times_noticeable,
)


@pytest.mark.parametrize("unit", ["dB", "dB(A)", "dB re full scale", "dB(A) re full scale"])
def test_that_levels_are_counted_in_decibels(unit):
    assert times_noticeable("leq_a", unit, -3.0, 70.0) == 3.0
    assert times_noticeable("leq_a", unit, 0.5, -20.0) == 0.5


@pytest.mark.parametrize("difference_db", [-12.0, -3.0, -1.0, 0.4, 1.0, 6.0])
def test_that_loudness_counts_like_the_level_that_makes_it(difference_db):
    # Ten phon double the loudness: a change of level and the change of loudness that it makes are
    # as many steps, up and down.
    quiet, level = 16.0, 16.0 * 2 ** (difference_db / 10)
    times = times_noticeable("loudness_n", "sone", level - quiet, quiet)
    assert times == pytest.approx(abs(difference_db), rel=1e-12)


@pytest.mark.parametrize(
    ("key", "unit", "level", "too_small", "enough"),
    [
        ("band_boom", "dB", 70.0, 0.94, 0.96),
        ("loudness_n", "sone", 20.0, 1.2, 1.45),
        ("loudness_n", "sone", 5.0, 0.3, 0.36),
        ("sharpness", "acum", 1.4, 0.04, 0.08),
        ("roughness", "asper", 1.0, 0.10, 0.17),
        # A sixth of next to nothing is nothing to hear.
        ("roughness", "asper", 0.05, 0.02, 0.04),
    ],
)
def test_that_each_kind_of_figure_has_its_threshold(key, unit, level, too_small, enough):
    assert not is_noticeable(key, unit, too_small, level)
    assert not is_noticeable(key, unit, -too_small, level)
    assert is_noticeable(key, unit, enough, level)


@pytest.mark.parametrize(
    ("key", "unit"),
    [
        ("cavity_line_hz", "Hz"),
        ("speed_slope_a", "dB per decade"),
        ("cavity_line_height", "dB over background"),
        ("pattern_order_1_slip", "%"),
    ],
)
def test_that_what_is_no_level_and_has_no_threshold_is_never_said_to_be_noticed(key, unit):
    assert times_noticeable(key, unit, 50.0, 200.0) is None
    assert not is_noticeable(key, unit, 50.0, 200.0)
    assert noticing_words(key, unit, 50.0, 200.0) == "not known to be noticed by ears"


@pytest.mark.parametrize("level", [None, 0.0, -1.0])
def test_that_a_part_of_no_level_is_not_known(level):
    assert times_noticeable("loudness_n", "sone", 5.0, level) is None
    assert not is_noticeable("loudness_n", "sone", 5.0, level)


def test_that_a_sound_that_vanishes_is_counted_only_where_that_is_finite():
    assert times_noticeable("loudness_n", "sone", -5.0, 5.0) is None
    times = times_noticeable("roughness", "asper", -0.4, 0.4)
    assert times is not None
    assert math.isclose(times, 10.0)


@pytest.mark.parametrize(
    ("difference", "words"),
    [
        (-0.9, "less than ears notice side by side (about 1 dB, common practice)"),
        (0.96, "noticed side by side (from about 1 dB, common practice)"),
        (-2.9, "noticed side by side (from about 1 dB, common practice)"),
        (3.0, "noticed without a direct comparison (from about 3 dB, common practice)"),
    ],
)
def test_that_a_change_of_level_has_words_marked_as_common_practice(difference, words):
    assert noticing_words("leq_a", "dB(A) re full scale", difference, -20.0) == (
        words.replace(" dB,", " dB(A),")
    )


@pytest.mark.parametrize(
    ("key", "unit", "difference", "level", "about"),
    [
        ("loudness_n", "sone", 5.0, 20.0, "(from about 7 %, the loudness of 1 dB"),
        ("sharpness", "acum", 0.2, 1.2, "(from about 0.08 acum, published for other"),
        ("roughness", "asper", 0.5, 1.0, "(from about 17 %, published for test sounds, from mem"),
    ],
)
def test_that_the_words_name_the_threshold_and_where_it_comes_from(
    key, unit, difference, level, about
):
    assert about in noticing_words(key, unit, difference, level)


def test_that_other_thresholds_can_be_put_in_force_for_a_unit_and_for_one_figure():
    strict = Noticing(level=Threshold(0.4, 0.0, "our laboratory"))
    assert is_noticeable("leq_a", "dB(A)", 0.5, 70.0, strict)
    assert not is_noticeable("leq_a", "dB(A)", 0.5, 70.0, NOTICING)
    one = Noticing(by_key={"cavity_line_level": Threshold(2.0, 0.0, "our laboratory")})
    assert not is_noticeable("cavity_line_level", "dB", 1.5, 60.0, one)
    assert is_noticeable("band_boom", "dB", 1.5, 60.0, one)
    assert "about 2 dB, our laboratory" in noticing_words("cavity_line_level", "dB", 1.5, 60, one)
