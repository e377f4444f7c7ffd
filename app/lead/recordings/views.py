"""The row of ways to look at the runs, and the place for the one that is chosen."""

from collections.abc import Mapping

from PySide6.QtCore import QEvent, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QAbstractButton, QButtonGroup, QHBoxLayout, QSizePolicy, QWidget

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


class Shelf(QWidget):
    """Gives the shown panel all its room.

    A stacked widget would ask for the height that the largest of them likes best.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._panels: list[QWidget] = []
        self._shown: QWidget | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    @property
    def shown(self) -> QWidget | None:
        """The panel on show."""
        return self._shown

    def show_panel(self, panel: QWidget) -> None:
        """Show a panel in place of the one before."""
        if panel not in self._panels:
            self._panels.append(panel)
            panel.setParent(self)
        if panel is not self._shown:
            if self._shown is not None:
                self._shown.hide()
            self._shown = panel
            panel.show()
        self._fit()

    def sizeHint(self) -> QSize:
        """Ask for no more than the panel needs."""
        return self.minimumSizeHint()

    def minimumSizeHint(self) -> QSize:
        """Return the least size of the panel at the width there is."""
        layout = None if self._shown is None else self._shown.layout()
        if layout is None:
            return QSize(0, 0)
        least = layout.minimumSize()
        if not layout.hasHeightForWidth():
            return least
        return QSize(least.width(), layout.minimumHeightForWidth(max(self.width(), least.width())))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Give the panel the room."""
        super().resizeEvent(event)
        self._fit()

    def event(self, event: QEvent) -> bool:
        """Follow when the panel needs more or less than before."""
        if event.type() == QEvent.Type.LayoutRequest:
            self._fit()
        return super().event(event)

    def _fit(self) -> None:
        if self._shown is not None:
            self._shown.setGeometry(QRect(0, 0, self.width(), self.height()))
        self.updateGeometry()
