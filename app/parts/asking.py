"""The question asked before something that was not kept would be lost."""

from collections.abc import Callable
from typing import Protocol, runtime_checkable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.parts.headings import PageHeading, SoftLine

_WIDTH_PX = 520


@runtime_checkable
class HoldsWork(Protocol):
    """A screen that may hold something that is not kept yet."""

    def at_stake(self) -> str:
        """Say what would be lost if it were closed now; empty when nothing."""


class LossQuestion(QDialog):
    """Says what is at stake; Esc and Enter go on working, only the other button loses it."""

    def __init__(self, parent: QWidget, at_stake: str, leave_words: str) -> None:
        super().__init__(parent)
        self.setWindowTitle(self.tr("Not kept yet"))
        self.setAccessibleDescription(at_stake)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setFixedWidth(_WIDTH_PX)
        self.stay = QPushButton(self.tr("Go on here"))
        self.stay.setDefault(True)
        self.stay.clicked.connect(self.reject)
        self.leave = QPushButton(leave_words)
        self.leave.setAutoDefault(False)
        self.leave.clicked.connect(self.accept)
        buttons = QHBoxLayout()
        buttons.setSpacing(12)
        buttons.addWidget(self.leave)
        buttons.addStretch(1)
        buttons.addWidget(self.stay)
        column = QVBoxLayout(self)
        column.setContentsMargins(28, 24, 28, 24)
        column.setSpacing(16)
        column.addWidget(PageHeading(self.tr("Leave without keeping this?")))
        column.addWidget(SoftLine(at_stake))
        column.addLayout(buttons)
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
    question = LossQuestion(parent.window(), at_stake, leave_words)
    question.accepted.connect(leave)
    question.open()
