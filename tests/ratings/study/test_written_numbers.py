import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ratings.errors import NumberError
from ratings.study.written_numbers import read_number, read_whole_number, with_plain_negative

SAME = [
    ("1.25", 1.25),
    ("1,25", 1.25),
    ("-0,5", -0.5),
    ("\u22120,5", -0.5),
    ("+3", 3.0),
    (",5", 0.5),
    (".5", 0.5),
    ("5,", 5.0),
    ("1e-3", 0.001),
    ("1,5E3", 1500.0),
    ("1,234", 1.234),
    ("1.234", 1.234),
    ("1 234", 1234.0),
    ("12\u00a0345,6", 12345.6),
    ("1\u202f234\u202f567", 1234567.0),
    ("1'234.5", 1234.5),
    ("1\u2019234.5", 1234.5),
    ("\u00a020,5\u202f", 20.5),
    ("007", 7.0),
]
TWO_WAYS = ["1.234,5", "1,234.5", "12,345,678", "1.234.567", "1,2,3", "1..5"]
NO_NUMBER = [
    *("nan", "inf", "-Infinity", "1_000", "\u0661\u0662", "\uff11", "0x10", "½", "one"),
    *(
        "1 2",
        "12 34",
        "1 2345",
        "1 234'567",
        "1 234.567,8",
        "- 5",
        "--5",
        "1e",
        "1e1.5",
        "-",
        "e5",
        ".",
        "1;5",
    ),
    *("20 Pa", "20 dB", "1.5\n2.5", "7-8", "5 %", "\u201320"),
]


@pytest.mark.parametrize(("text", "value"), SAME)
def test_that_either_decimal_mark_is_understood(text, value):
    assert read_number(text) == value


@pytest.mark.parametrize("text", TWO_WAYS)
def test_that_a_number_with_two_marks_is_refused_and_not_guessed(text):
    with pytest.raises(NumberError, match="can be read in more than one way") as refusal:
        read_number(text)
    assert "1234.5 or 1234,5" in refusal.value.what_to_do


@pytest.mark.parametrize("text", NO_NUMBER)
def test_that_what_is_no_number_is_refused_by_its_own_words(text):
    with pytest.raises(NumberError, match="is not a number") as refusal:
        read_number(text)
    assert f'"{text.strip()}"' in refusal.value.what_happened


@pytest.mark.parametrize("text", ["", "  ", "\u00a0"])
def test_that_an_empty_text_is_no_number(text):
    with pytest.raises(NumberError, match="There is no number"):
        read_number(text)


def test_that_a_number_beyond_every_float_is_refused():
    with pytest.raises(NumberError, match="too large"):
        read_number("1e999")


@pytest.mark.parametrize("text", ["94 dB", "94dB", "94,0\u202fdB", "94 db", "94"])
def test_that_a_unit_may_follow_where_it_is_taken(text):
    assert read_number(text, units=("dB", "dB at the ear")) == 94.0


def test_that_another_unit_is_refused():
    with pytest.raises(NumberError, match=r'"1\.25 kPa" is not a number'):
        read_number("1.25 kPa", units=("Pa",))


def test_that_a_unit_alone_is_no_number():
    with pytest.raises(NumberError, match="There is no number"):
        read_number(" dB", units=("dB",))


def test_that_a_long_text_is_not_repeated_whole():
    with pytest.raises(NumberError) as refusal:
        read_number("x" * 10_000)
    assert len(refusal.value.what_happened) < 60


@pytest.mark.parametrize(
    ("text", "value"), [("8", 8), ("48 000", 48_000), ("-2", -2), ("1e3", 1000)]
)
def test_that_a_whole_number_is_read(text, value):
    assert read_whole_number(text) == value


@pytest.mark.parametrize("text", ["1,250", "1.5", "0,1"])
def test_that_a_fraction_is_no_whole_number(text):
    with pytest.raises(NumberError, match="is not a whole number"):
        read_whole_number(text)


@pytest.mark.parametrize(
    ("word", "plain"),
    [
        ("-0,5", "-0.5"),
        ("\u221212,5", "-12.5"),
        ("-5e-3", "-0.005"),
        ("-1e-12", "-0.000000000001"),
        ("-o", "-o"),
        ("--gain-db", "--gain-db"),
        ("-1.234,5", "-1.234,5"),
        ("0,5", "0,5"),
        ("1,5.wav", "1,5.wav"),
    ],
)
def test_that_a_negative_number_is_not_taken_for_an_option(word, plain):
    assert with_plain_negative(word) == plain


@given(st.floats(allow_nan=False, allow_infinity=False), st.sampled_from(".,"))
def test_that_every_written_float_is_read_to_the_last_bit(value, mark):
    assert read_number(repr(value).replace(".", mark)) == value


@given(st.text(alphabet="0123456789.,-+eE '\u00a0\u2212", max_size=12))
def test_that_no_text_is_partly_read(text):
    try:
        value = read_number(text)
    except NumberError:
        return
    digits = [character for character in text.split("e")[0].split("E")[0] if character.isdigit()]
    mantissa = "".join(digits)
    marks = sum(character in ".," for character in text)
    assert marks <= 1
    if "e" not in text.casefold() and not marks:
        assert abs(value) == int(mantissa)
    assert math.isfinite(value)
