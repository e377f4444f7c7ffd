"""What the pages over the runs share: heading, parts, foot with the way back, a list to pick."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLayout,
    QListWidget,
    QListWidgetItem,
    QSizePolicy,
    QWidget,
)

from app.parts.asking import leave_or_ask
from app.parts.headings import QuestionPanel
from app.parts.layouts import PAGE_MARGINS, Air, Stretched, in_column, in_row
from app.parts.sheet import PlainScroll
from app.parts.thin_bar import ThinBar

_LEAST_LIST_PX = 150
_MEANING = Qt.ItemDataRole.UserRole


class HoldsDrafts(Protocol):
    """What a page may lose when it is left."""

    def at_stake(self) -> str:
        """Say what would be lost; empty when nothing."""

    def forget(self) -> None:
        """Go back to what is kept."""


class FormPage(QWidget):
    """A page that is left by its button or by Esc; drafts that are not kept are asked about.

    Signals
    -------
    left()
        Back to the runs.
    """

    left = Signal()

    def __init__(self, drafts: HoldsDrafts | None = None, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._drafts = drafts

    def lay_out(
        self, head: Sequence[QWidget], body: QWidget | QLayout, foot: Sequence[QWidget | None]
    ) -> None:
        """Put heading and line, the parts, and the foot below each other; called once.

        Parameters
        ----------
        foot
            The way back and what else there is to press; None where room is left between.
        """
        parts = (
            Air() if part is None else Stretched(part) if isinstance(part, ThinBar) else part
            for part in foot
        )
        below = in_row(*parts, gap_px=12)
        in_column(*head, Stretched(body), below, of=self, gap_px=8, margins_px=PAGE_MARGINS)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go back on Esc."""
        if event.key() == Qt.Key.Key_Escape:
            self.go_back()
        else:
            super().keyPressEvent(event)

    def go_back(self) -> None:
        """Go back; changes that were not kept are asked about."""
        at_stake = "" if self._drafts is None else self._drafts.at_stake()
        leave_or_ask(self, at_stake, self._leave, "Discard the changes")

    def _leave(self) -> None:
        if self._drafts is not None:
            self._drafts.forget()
        self.left.emit()


class PickList(QListWidget):
    """Entries of two lines, one of them chosen.

    Signals
    -------
    picked(object)
        What the entry stands for that the person chose.
    """

    picked = Signal(object)

    def __init__(self, spoken_name: str) -> None:
        super().__init__()
        self.setAccessibleName(spoken_name)
        self.setStyleSheet("QListWidget::item { padding: 8px 10px; }")
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        # The form beside it needs the width more: a list asks for as much as it finds pleasant.
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Expanding)
        self.setMinimumWidth(_LEAST_LIST_PX)
        self.currentItemChanged.connect(self._pick)

    def show_entries(self, entries: Sequence[tuple[str, object]], chosen: object) -> None:
        """Show these words, each with what it stands for."""
        self.blockSignals(True)
        while self.count() > len(entries):
            self.takeItem(self.count() - 1)
        while self.count() < len(entries):
            self.addItem(QListWidgetItem())
        for place, (words, meaning) in enumerate(entries):
            self.item(place).setText(words)
            self.item(place).setData(_MEANING, meaning)
            if meaning == chosen:
                self.setCurrentRow(place)
        self.blockSignals(False)

    def _pick(self, item: QListWidgetItem | None) -> None:
        if item is not None:
            self.picked.emit(item.data(_MEANING))


def scrolled(inside: QWidget, *, has_frame: bool = False) -> PlainScroll:
    """Return what scrolls a widget up and down and takes no keys itself."""
    scroll = PlainScroll(inside)
    if has_frame:
        scroll.setFrameShape(QFrame.Shape.StyledPanel)
    scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    return scroll


def side_by_side(listed: QuestionPanel, form: QuestionPanel) -> QHBoxLayout:
    """Return a list and a form, a third and two thirds of the width."""
    return in_row(Stretched(listed, 7), Stretched(form, 14), gap_px=16)
