"""Digits by the keys of other layouts, as X11, Windows and macOS send them."""

import pytest
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent

from app.listening.session_keys import digit_of

NONE, SHIFT = Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.ShiftModifier
# What a French keyboard types on its upper row, from the 1 to the 0, and Qt's keys for it.
FRENCH = (
    ("&", Qt.Key.Key_Ampersand),
    ("é", Qt.Key.Key_Eacute),
    ('"', Qt.Key.Key_QuoteDbl),
    ("'", Qt.Key.Key_Apostrophe),
    ("(", Qt.Key.Key_ParenLeft),
    ("-", Qt.Key.Key_Minus),
    ("è", Qt.Key.Key_Egrave),
    ("_", Qt.Key.Key_Underscore),
    ("ç", Qt.Key.Key_Ccedilla),
    ("à", Qt.Key.Key_Agrave),
)
MAC_ROW = (18, 19, 20, 21, 23, 22, 26, 28, 25, 29)


def pressed(key, text, scan_code, virtual_key, modifiers=NONE):
    return QKeyEvent(
        QEvent.Type.KeyPress, key, modifiers, scan_code, virtual_key, 0, text, False, 1
    )


@pytest.mark.parametrize("place", range(10))
@pytest.mark.parametrize("platform", ["xcb", "wayland", "windows", "cocoa", "nameless"])
def test_that_the_french_row_gives_digits_without_shift(platform, place):
    text, key = FRENCH[place]
    digit = (place + 1) % 10
    codes = {
        "windows": (2 + place, ord(str(digit))),
        "cocoa": (1, MAC_ROW[place]),
        "nameless": (0, 0),
    }.get(platform, (10 + place, ord(text)))
    assert digit_of(pressed(key, text, *codes), platform) == digit


def test_that_windows_scan_codes_do_where_no_virtual_key_is_told():
    assert digit_of(pressed(Qt.Key.Key_Eacute, "é", 3, 0), "windows") == 2


@pytest.mark.parametrize("modifiers", [NONE, SHIFT, Qt.KeyboardModifier.KeypadModifier])
def test_that_a_typed_digit_counts_wherever_its_key_is(modifiers):
    # On the keypad, or with Shift as on a French keyboard.
    assert digit_of(pressed(Qt.Key.Key_7, "7", 79, 0, modifiers), "xcb") == 7


@pytest.mark.parametrize(
    ("key", "text", "scan_code", "modifiers"),
    [
        (Qt.Key.Key_Exclam, "!", 10, SHIFT),  # Shift and 1 of a US keyboard
        (Qt.Key.Key_Equal, "=", 19, SHIFT),  # Shift and 0 of a German one: no difference
        (Qt.Key.Key_Odiaeresis, "ö", 19, NONE),  # Hungarian, its 0 is elsewhere
        (Qt.Key.Key_Equal, "=", 21, NONE),
        (Qt.Key.Key_Q, "q", 24, NONE),
        (Qt.Key.Key_Backspace, "", 22, NONE),
        (Qt.Key.Key_Minus, "-", 0x14, NONE),
    ],
)
def test_that_other_keys_are_no_digits(key, text, scan_code, modifiers):
    assert digit_of(pressed(key, text, scan_code, 0, modifiers), "xcb") is None
