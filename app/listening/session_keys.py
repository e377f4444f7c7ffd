"""The keys of a listening session, once: what they do and what the card says about them."""

from collections.abc import Callable

from PySide6.QtCore import QObject, Qt
from PySide6.QtGui import QGuiApplication, QKeyEvent

from app.listening.pair_rating import PairRating

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


def key_card() -> list[tuple[str, str]]:
    """Return the keys with what they do, for the card that `?` opens."""
    return [
        ("Space", "play the other side"),
        ("A  B", "play this side, from here"),
        ("1-9, 0", "score the side playing; 0 is 10"),
        ("7 . 5", "is 7.5, also by comma; a pause takes it"),
        ("← →", "move its score by one step"),
        ("=", "no difference: both sides alike"),
        ("Backspace", "take the last change of it back"),
        ("Tab  ↓ ↑", "next attribute, or back"),
        ("Enter", "take the number; then next pair"),
        ("N", "note on the side playing"),
        ("P", "pause, or play on"),
        ("L", "loop on or off"),
        ("Home", "back to the start of the clip"),
        ("S", "set a pair aside that has no sound"),
        ("R", "return to the pairs set aside"),
        ("D", "sound device and level"),
        ("Esc", "drop a number or a message; else leave"),
        ("?", "this card"),
    ]


def key_line() -> str:
    """Return the keys needed most, in one line."""
    words = (
        "Space: other side   digits: score it   ← →: by a step   =: no difference   "
        "Tab: next   ?: all keys"
    )
    # A line may break between two keys, never between a key and what it does.
    return "   ".join(each.replace(" ", "\u00a0") for each in words.split("   "))


class SessionKeys(QObject):
    """Turns a key into what the presenter or the screen does.

    Parameters
    ----------
    screen_acts
        What ``device``, ``next``, ``note``, ``keys``, ``leave``, ``aside`` and ``again`` do.
    """

    def __init__(self, presenter: PairRating, screen_acts: dict[str, Callable[[], None]]):
        super().__init__()
        player = presenter.player
        self._presenter = presenter
        self._acts: dict[int, Callable[[], None]] = {
            Qt.Key.Key_Space: presenter.hear_other,
            Qt.Key.Key_A: lambda: presenter.hear("A"),
            Qt.Key.Key_B: lambda: presenter.hear("B"),
            Qt.Key.Key_Left: lambda: presenter.nudge(-1),
            Qt.Key.Key_Right: lambda: presenter.nudge(1),
            Qt.Key.Key_Equal: presenter.say_equal,
            Qt.Key.Key_Backspace: presenter.take_back,
            Qt.Key.Key_Delete: presenter.take_back,
            Qt.Key.Key_Period: lambda: presenter.type_score("."),
            Qt.Key.Key_Comma: lambda: presenter.type_score(","),
            Qt.Key.Key_Down: lambda: presenter.step_attribute(1),
            Qt.Key.Key_Up: lambda: presenter.step_attribute(-1),
            Qt.Key.Key_P: player.toggle_play,
            Qt.Key.Key_L: lambda: player.set_looping(not player.is_looping),
            Qt.Key.Key_Home: lambda: player.seek(0.0),
            Qt.Key.Key_S: screen_acts["aside"],
            Qt.Key.Key_R: screen_acts["again"],
            Qt.Key.Key_D: screen_acts["device"],
            Qt.Key.Key_Return: screen_acts["next"],
            Qt.Key.Key_Enter: screen_acts["next"],
            Qt.Key.Key_N: screen_acts["note"],
            Qt.Key.Key_Question: screen_acts["keys"],
            Qt.Key.Key_Escape: screen_acts["leave"],
        }

    def take(self, event: QKeyEvent, *, is_held: bool) -> bool:
        """Do what the key asks for; tell whether it asks for anything here."""
        held = event.modifiers() & ~(
            Qt.KeyboardModifier.KeypadModifier | Qt.KeyboardModifier.ShiftModifier
        )
        if held != Qt.KeyboardModifier.NoModifier:
            return False
        key = event.key()
        digit = digit_of(event)
        if digit is not None:
            # A key that is held down must not fill the disk with the same score.
            if not is_held:
                self._presenter.type_score(str(digit))
            return True
        act = self._acts.get(key)
        may_repeat = key in (Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Up, Qt.Key.Key_Down)
        if act is None:
            return False
        if may_repeat or not is_held:
            act()
        return True


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
