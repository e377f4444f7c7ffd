"""Which digit a key stands for, whatever the layout of the keyboard prints on it."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication, QKeyEvent

#: Codes of the keys 1 to 9 and 0 of the upper row, in this order, as each system numbers them.
#: X11 and Wayland: evdev's KEY_1..KEY_0 (linux/input-event-codes.h) plus 8.
_X11_FIRST = 10
#: Windows: virtual keys "0" to "9" are 0x30 to 0x39 on every layout; scan codes 0x02 to 0x0B of
#: set 1 (from memory).
_WINDOWS_ZERO = 0x30
_WINDOWS_FIRST_SCAN = 0x02
#: macOS: kVK_ANSI_1 .. kVK_ANSI_0 of HIToolbox/Events.h (from memory).
_MAC = (0x12, 0x13, 0x14, 0x15, 0x17, 0x16, 0x1A, 0x1C, 0x19, 0x1D)
#: What a French keyboard types there without Shift, for a key whose number is not told.
_FRENCH = "&é\"'(-è_çà"
#: A Hungarian keyboard has its 0 elsewhere, and this letter in the place of ours.
_NO_DIGIT = (Qt.Key.Key_Odiaeresis,)


def digit_of(event: QKeyEvent, platform: str | None = None) -> int | None:
    """Return the digit of a pressed key, None for another key.

    By what it types, on the keypad as on the row; else, without Shift, by its place in the upper
    row: there some layouts have letters and signs, and the digits only with Shift.

    Parameters
    ----------
    platform
        Qt's name of the system whose numbers the event bears; None for the one in use.
    """
    key = event.key()
    if Qt.Key.Key_0 <= key <= Qt.Key.Key_9:
        return int(key - Qt.Key.Key_0)
    if event.modifiers() != Qt.KeyboardModifier.NoModifier or key in _NO_DIGIT:
        return None
    place = _place_in_row(event, platform or QGuiApplication.platformName())
    return None if place is None else (place + 1) % 10


def _place_in_row(event: QKeyEvent, platform: str) -> int | None:
    scan_code, virtual_key = event.nativeScanCode(), event.nativeVirtualKey()
    if platform == "windows":
        if _WINDOWS_ZERO <= virtual_key <= _WINDOWS_ZERO + 9:
            return (virtual_key - _WINDOWS_ZERO - 1) % 10
        place = scan_code - _WINDOWS_FIRST_SCAN
    elif platform == "cocoa":
        return _MAC.index(virtual_key) if virtual_key in _MAC else None
    else:
        place = scan_code - _X11_FIRST
    if scan_code and 0 <= place <= 9:
        return int(place)
    if not scan_code and len(event.text()) == 1 and event.text() in _FRENCH:
        return _FRENCH.index(event.text())
    return None
