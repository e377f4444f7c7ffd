"""The keys of a listening session, once: what they do and what the card says about them."""

from collections.abc import Callable

from PySide6.QtCore import QCoreApplication, QObject, Qt
from PySide6.QtGui import QKeyEvent

from app.evaluator.session_presenter import SessionPresenter


def key_card() -> list[tuple[str, str]]:
    """Return the keys with what they do, for the card that `?` opens."""
    tr = QCoreApplication.translate
    return [
        (tr("SessionKeys", "Space"), tr("SessionKeys", "hear the other side")),
        ("A  B", tr("SessionKeys", "hear this side")),
        ("1-9, 0", tr("SessionKeys", "score the sounding side; 0 is 10")),
        ("← →", tr("SessionKeys", "move its score by one step")),
        ("=", tr("SessionKeys", "no difference: both sides alike")),
        (tr("SessionKeys", "Backspace"), tr("SessionKeys", "take its score back")),
        ("Tab  ↓ ↑", tr("SessionKeys", "next attribute, or back")),
        (tr("SessionKeys", "Enter"), tr("SessionKeys", "close this pair, on to the next")),
        ("N", tr("SessionKeys", "note on the sounding side")),
        ("P", tr("SessionKeys", "pause, or play on")),
        ("L", tr("SessionKeys", "loop on or off")),
        (tr("SessionKeys", "Home"), tr("SessionKeys", "back to the start of the clip")),
        ("Esc", tr("SessionKeys", "leave; everything given is kept")),
        ("?", tr("SessionKeys", "this card")),
    ]


def key_line() -> str:
    """Return the keys needed most, in one line."""
    return QCoreApplication.translate(
        "SessionKeys",
        "Space: other side   1-9, 0: score it   ← →: by a step   =: no difference   "
        "Tab: next   ?: all keys",
    )


class SessionKeys(QObject):
    """Turns a key into what the presenter or the screen does."""

    def __init__(self, presenter: SessionPresenter, screen_acts: dict[str, Callable[[], None]]):
        super().__init__()
        player = presenter.player
        self._presenter = presenter
        self._acts: dict[int, Callable[[], None]] = {
            Qt.Key.Key_Space: player.switch,
            Qt.Key.Key_A: lambda: player.switch_to("A"),
            Qt.Key.Key_B: lambda: player.switch_to("B"),
            Qt.Key.Key_Left: lambda: presenter.nudge(-1),
            Qt.Key.Key_Right: lambda: presenter.nudge(1),
            Qt.Key.Key_Equal: presenter.say_equal,
            Qt.Key.Key_Backspace: presenter.take_back,
            Qt.Key.Key_Delete: presenter.take_back,
            Qt.Key.Key_Down: lambda: presenter.step_attribute(1),
            Qt.Key.Key_Up: lambda: presenter.step_attribute(-1),
            Qt.Key.Key_P: player.toggle_play,
            Qt.Key.Key_L: lambda: player.set_looping(not player.is_looping),
            Qt.Key.Key_Home: lambda: player.seek(0.0),
            Qt.Key.Key_Return: screen_acts["next"],
            Qt.Key.Key_Enter: screen_acts["next"],
            Qt.Key.Key_N: screen_acts["note"],
            Qt.Key.Key_Question: screen_acts["keys"],
            Qt.Key.Key_Escape: screen_acts["leave"],
        }

    def take(self, event: QKeyEvent) -> bool:
        """Do what the key asks for; tell whether it asks for anything here."""
        held = event.modifiers() & ~(
            Qt.KeyboardModifier.KeypadModifier | Qt.KeyboardModifier.ShiftModifier
        )
        if held != Qt.KeyboardModifier.NoModifier:
            return False
        key = event.key()
        if Qt.Key.Key_0 <= key <= Qt.Key.Key_9:
            # A key that is held down must not fill the disk with the same score.
            if not event.isAutoRepeat():
                self._presenter.press_digit(key - Qt.Key.Key_0)
            return True
        act = self._acts.get(key)
        may_repeat = key in (Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Up, Qt.Key.Key_Down)
        if act is None:
            return False
        if may_repeat or not event.isAutoRepeat():
            act()
        return True
