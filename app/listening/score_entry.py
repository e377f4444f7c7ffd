"""A score while it is typed: digits make a number, taken after a pause or by what comes next."""

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import QObject, QTimer, Signal

from app.background.database import Act
from app.listening.pair_form import NotYetError
from ratings.errors import RatingsError, UnsavedError
from ratings.study.attributes import Scale
from ratings.study.listening import Side

#: The pause after which a number counts (our judgement).
PAUSE_MS = 800
DECIMAL_MARKS = ".,"
_LONGEST = 5


@dataclass(frozen=True, slots=True)
class Typed:
    """A number that is being typed, for the attribute and side where its first digit was."""

    key: str
    side: Side
    text: str


class ScoreEntry(QObject):
    """Takes digits and a decimal mark; 0 alone stands for the top of the scale.

    A decimal mark after a number that has just been taken goes on with it: who types slowly gets
    7.5 too.

    Signals
    -------
    changed
        What is being typed.
    paused
        The pause after which a number counts is over.
    """

    changed = Signal()
    paused = Signal()

    def __init__(
        self,
        scale: Scale,
        give: Callable[[str, Side, float], Act[None]],
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._scale = scale
        self._give = give
        self.typed: Typed | None = None
        self._is_unsaved = False
        self._just_taken: Typed | None = None
        self._pause = QTimer(self, singleShot=True, interval=PAUSE_MS)
        self._pause.timeout.connect(self.paused)

    def press(self, character: str, key: str, side: Side) -> Act[None]:
        """Take a digit or a decimal mark typed for an attribute and a side."""
        typed = self.typed
        if typed is not None and (typed.key, typed.side) != (key, side):
            yield from self.settle()
            typed = None
        is_mark = character in DECIMAL_MARKS
        if self._is_unsaved and not is_mark:
            # Whoever gives it again by its digits begins anew.
            typed = None
        if typed is None and is_mark:
            typed = self._just_taken
            if typed is None or (typed.key, typed.side) != (key, side):
                raise NotYetError("A score begins with a digit.", "Nothing was changed.")
        text = "" if typed is None else typed.text
        if (is_mark and "." in text) or len(text) == _LONGEST:
            return
        self._show(Typed(key, side, text + ("." if is_mark else character)))

    def rub_out(self) -> None:
        """Take the last character back."""
        if self.typed is not None:
            text = self.typed.text[:-1]
            self._show(Typed(self.typed.key, self.typed.side, text) if text else None)

    def drop(self) -> None:
        """Forget what was typed; nothing of it counts."""
        self._just_taken = None
        if self.typed is not None:
            self._show(None)

    def settle(self) -> Act[None]:
        """Let what was typed count; what could not be saved stays, to be given again."""
        typed = self.typed
        if typed is None:
            return
        self._pause.stop()
        self._just_taken = None
        value = self.value_of(typed)
        if value is None:
            self._show(None)
            raise self._off_the_scale(typed.text)
        try:
            yield from self._give(typed.key, typed.side, value)
        except UnsavedError:
            self._is_unsaved = True
            raise
        except RatingsError:
            self._show(None)
            raise
        self._show(None)
        self._just_taken = None if "." in typed.text else typed

    def settle_after_pause(self) -> Act[None]:
        """Let what was typed count unless somebody has gone on typing."""
        if not self._pause.isActive() and not self._is_unsaved:
            yield from self.settle()

    def forget(self) -> None:
        """Let a decimal mark not go on with the number taken last."""
        self._just_taken = None

    def value_of(self, typed: Typed) -> float | None:
        """Return the score that was typed, None while it is none of the scale."""
        value = self._scale.high if typed.text == "0" else float(typed.text)
        return value if self._scale.holds(value) else None

    def _off_the_scale(self, text: str) -> RatingsError:
        scale = self._scale
        return NotYetError(
            f"{text.rstrip('.')} is not a score of this scale: {scale.low:g} to {scale.high:g} in "
            f"steps of {scale.step:g}.",
            "Nothing was changed.",
        )

    def _show(self, typed: Typed | None) -> None:
        self.typed, self._is_unsaved = typed, False
        if typed is None:
            self._pause.stop()
        else:
            self._pause.start()
        self.changed.emit()
