"""The row of ways to look at the runs."""

from collections.abc import Mapping

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QAbstractButton, QButtonGroup, QHBoxLayout, QWidget

from app.lead.recordings.presenter import View
from app.parts.fonts import font
from app.parts.icons import TOUCH_PX
from app.parts.shapes import draw_focus_ring
from app.parts.theme import current_theme


class ViewButton(QAbstractButton):
    """A word, underlined while it is chosen."""

    def __init__(self, words: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setText(words)
        self.setAccessibleName(words)
        self.setCheckable(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)

    def sizeHint(self) -> QSize:
        """Room for the word in its heavy form."""
        width = QFontMetricsF(font("strong")).horizontalAdvance(self.text())
        return QSize(round(width) + 22, TOUCH_PX)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  # Qt's signature
        """Draw the word and its line."""
        theme = current_theme()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect())
        painter.setPen(Qt.PenStyle.NoPen)
        if self.isChecked() or self.underMouse():
            painter.setBrush(QColor(theme.accent if self.isChecked() else theme.tick))
            painter.drawRoundedRect(QRectF(11, box.height() - 6, box.width() - 22, 4), 2, 2)
        painter.setFont(font("strong" if self.isChecked() else "body"))
        painter.setPen(QColor(theme.text if self.isChecked() else theme.soft_text))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, self.text())
        if self.hasFocus():
            draw_focus_ring(painter, box.adjusted(2, 4, -2, -1), 6, theme.text)
        painter.end()


class ViewRow(QWidget):
    """One of several ways is chosen.

    Signals
    -------
    view_chosen(str)
    """

    view_chosen = Signal(str)

    def __init__(self, words: Mapping[View, str], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("ways to look at the runs")
        group = QButtonGroup(self)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        self.buttons: dict[View, ViewButton] = {}
        for view, text in words.items():
            button = ViewButton(text)
            group.addButton(button)
            button.clicked.connect(lambda _on=False, view=view: self.view_chosen.emit(view))
            row.addWidget(button)
            self.buttons[view] = button

    def show_view(self, view: View) -> None:
        """Mark the chosen one."""
        self.buttons[view].setChecked(True)
