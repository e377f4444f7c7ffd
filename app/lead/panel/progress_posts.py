"""How far a session has got, as a line of posts: one for each pair."""

from PySide6.QtCore import QPointF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.parts.theme import current_theme

_STEP = 14.0


class ProgressPosts(QWidget):
    """Filled posts for rated pairs, open ones for those to come."""

    def __init__(self, done: int, count: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._done, self._count = done, count
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(f"{done} of {count} pairs rated")

    def sizeHint(self) -> QSize:
        """One step for each post."""
        return QSize(round(self._count * _STEP), 24)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  # Qt's signature
        """Draw the posts, closer together when there is little room."""
        theme = current_theme()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        step = min(_STEP, self.width() / max(self._count, 1))
        half = min(4.0, step / 3)
        for post in range(self._count):
            is_done = post < self._done
            colour = QColor(theme.done if is_done else theme.rail)
            painter.setPen(QPen(colour, 1.5))
            painter.setBrush(colour if is_done else Qt.BrushStyle.NoBrush)
            painter.drawEllipse(QPointF((post + 0.5) * step, self.height() / 2), half, half)
        painter.end()
