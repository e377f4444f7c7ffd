"""Buttons in a row, or in two rows where there is no room for one."""

from collections.abc import Sequence

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QGridLayout, QLayout, QPushButton, QWidget

_GAP = 12
_NARROW_COLUMNS = 2


class ActionRow(QWidget):
    """Puts the buttons side by side, and never makes the window wider than two of them."""

    def __init__(self, buttons: Sequence[QPushButton], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._buttons = tuple(buttons)
        self._columns = 0
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setSpacing(_GAP)
        self._grid.setSizeConstraint(QLayout.SizeConstraint.SetNoConstraint)
        self._grid.setColumnStretch(len(self._buttons), 1)
        self._place(len(self._buttons))

    def minimumSizeHint(self) -> QSize:
        """Ask for no more width than the narrow form needs."""
        widths = sorted(button.sizeHint().width() for button in self._buttons)
        needed = sum(widths[-_NARROW_COLUMNS:]) + _GAP * (_NARROW_COLUMNS - 1)
        return QSize(needed, self._grid.minimumSize().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Use one row where it fits."""
        super().resizeEvent(event)
        needed = sum(button.sizeHint().width() + _GAP for button in self._buttons) - _GAP
        self._place(len(self._buttons) if needed <= self.width() else _NARROW_COLUMNS)

    def _place(self, columns: int) -> None:
        if columns == self._columns:
            return
        self._columns = columns
        for place, button in enumerate(self._buttons):
            self._grid.removeWidget(button)
            row, column = divmod(place, columns)
            self._grid.addWidget(button, row, column, Qt.AlignmentFlag.AlignLeft)
        self.updateGeometry()
