"""The question asked before a step that cannot be taken back."""

from collections.abc import Callable
from typing import Protocol, runtime_checkable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QPushButton, QWidget

from app.parts.headings import PageHeading, SoftLine
from app.parts.layouts import Air, in_column, in_row

_WIDTH_PX = 520


@runtime_checkable
class HoldsWork(Protocol):
    """A screen that may hold something that is not kept yet."""

    def at_stake(self) -> str:
        """Say what would be lost if it were closed now; empty when nothing."""


@runtime_checkable
class SavesEntries(Protocol):
    """A screen that saves what was given before it goes."""

    @property
    def is_put_away(self) -> bool:
        """Whether everything given is saved."""

    def put_away(self, then: Callable[[], None]) -> None:
        """Save it, then go on; stay when that is refused, and say so."""


class Question(QDialog):
    """Says what is at stake; Esc and Enter stay where one is, only the other button goes on.

    Parameters
    ----------
    go_words
        Words of the button that goes on.
    """

    def __init__(
        self, parent: QWidget, question: str, at_stake: str, go_words: str, stay_words: str
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle(question)
        self.setAccessibleDescription(at_stake)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setFixedWidth(_WIDTH_PX)
        self.stay = QPushButton(stay_words)
        self.stay.setDefault(True)
        self.stay.clicked.connect(self.reject)
        self.go = QPushButton(go_words)
        self.go.setAutoDefault(False)
        self.go.clicked.connect(self.accept)
        in_column(
            PageHeading(question),
            SoftLine(at_stake),
            in_row(self.go, Air(share=1), self.stay, gap_px=12),
            of=self,
            gap_px=16,
            margins_px=(28, 24, 28, 24),
        )
        self.stay.setFocus(Qt.FocusReason.OtherFocusReason)


def leave_or_ask(
    parent: QWidget, at_stake: str, leave: Callable[[], None], leave_words: str
) -> None:
    """Leave at once when nothing is at stake, else when the question is answered so.

    Parameters
    ----------
    at_stake
        What would be lost, as sentences; empty for nothing.
    leave_words
        Words of the button that loses it, such as ``Discard the changes``.
    """
    if not at_stake:
        leave()
        return
    question = Question(
        parent.window(),
        "Leave without keeping this?",
        at_stake,
        leave_words,
        "Go on here",
    )
    question.accepted.connect(leave)
    question.open()
