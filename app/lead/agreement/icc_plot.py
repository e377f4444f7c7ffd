"""ICC of one evaluator and of the panel's mean, each with its interval."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.lead.agreement.plot_axis import UnitAxis, draw_dot
from app.parts.fonts import font
from app.parts.theme import current_theme

_ROW = 36.0


@dataclass(frozen=True, slots=True)
class IccRow:
    """One form of the coefficient; `words` are its figures as written at the end of the row."""

    name: str
    value: float
    lower: float | None
    upper: float | None
    words: str


class IccPlot(QWidget):
    """A row for each form of ICC shown."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[IccRow, ...] = ()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("intraclass correlation")

    def show_rows(self, rows: Sequence[IccRow]) -> None:
        """Show these rows."""
        self._rows = tuple(rows)
        self.setAccessibleDescription(". ".join(f"{row.name} {row.words}" for row in rows))
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        """Room for the rows and the axis."""
        return QSize(520, round(len(self._rows) * _ROW + UnitAxis.height()))

    def minimumSizeHint(self) -> QSize:
        """Say the same: the rows do not shrink."""
        return QSize(320, self.sizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  # Qt's signature
        """Draw axis and rows."""
        theme = current_theme()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        metrics = QFontMetricsF(font("body"))
        names = max((metrics.horizontalAdvance(row.name) for row in self._rows), default=0.0)
        words = max((metrics.horizontalAdvance(row.words) for row in self._rows), default=0.0)
        axis = UnitAxis(names + 28, self.width() - words - 28)
        axis.draw(painter, 0, len(self._rows) * _ROW, "0 no agreement, 1 the same numbers")
        middle = Qt.AlignmentFlag.AlignVCenter
        for place, row in enumerate(self._rows):
            box = QRectF(0, place * _ROW, self.width(), _ROW)
            painter.setFont(font("body"))
            painter.setPen(QColor(theme.text))
            painter.drawText(box, middle, row.name)
            painter.drawText(box, middle | Qt.AlignmentFlag.AlignRight, row.words)
            figures = row.value, row.lower, row.upper
            draw_dot(painter, axis, box.center().y(), figures, is_filled=row.value > 0)
        painter.end()
