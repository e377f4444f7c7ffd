"""The keys of a listening session, once: what they do and what the card says about them."""

from collections.abc import Callable

from PySide6.QtCore import QObject, Qt
from PySide6.QtGui import QKeyEvent

from app.evaluator.session_presenter import SessionPresenter
from app.listening.digit_keys import digit_of


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
    """Turns a key into what the presenter or the screen does."""

    def __init__(self, presenter: SessionPresenter, screen_acts: dict[str, Callable[[], None]]):
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
            Qt.Key.Key_S: presenter.set_aside,
            Qt.Key.Key_R: presenter.take_up_aside,
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
