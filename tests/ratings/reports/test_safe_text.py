import pytest

from ratings.reports.safe_text import STAND_IN, breakable, safe_text

BREAK = "\u200b"


@pytest.mark.parametrize(
    ("written", "safe"),
    [
        ("a\tb\r\nc\rd\ne", "a b\nc\nd\ne"),
        ("a\x00\x1b\x7f\x85", f"a{STAND_IN * 4}"),
        ("\ud800\ufffe\U0001ffff\ufdd0", STAND_IN * 4),
        ("gnp\u202eexe.\u2066x\u200f", "gnpexe.x"),
        ("Grün 5 °C, µ, \u6f22, \N{GRINNING FACE}", "Grün 5 °C, µ, \u6f22, \N{GRINNING FACE}"),
    ],
)
def test_that_what_cannot_be_written_is_replaced_and_the_rest_stays(written, safe):
    assert safe_text(written) == safe
    assert safe_text(safe) == safe


def test_that_only_words_too_long_for_a_line_may_be_broken():
    short = "rings after each joint of the road"
    assert breakable(short) == short
    assert breakable("W" * 30) == BREAK.join(["W" * 12, "W" * 12, "W" * 6])
    assert breakable("x " + "W" * 30 + " y").replace(BREAK, "") == "x " + "W" * 30 + " y"


def test_that_an_accent_stays_with_its_letter():
    word = "a" * 11 + "e\u0301" + "b" * 14
    assert breakable(word).split(BREAK) == ["a" * 11 + "e\u0301", "b" * 12, "bb"]
