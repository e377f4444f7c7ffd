"""The control over a session, a day or its runs: each level, and the line through them."""

from __future__ import annotations

import itertools
import math

from PySide6.QtCore import QPointF, QRectF, QSize
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.lead.verdict.axes import Frame, spanned
from app.parts.theme import current_theme
from ratings.findings.verdict.control_drift import DriftFinding

_HALF = 5.0
_X_WORDS = {
    "pairs": "control as it was met in the session: first, second, ...",
    "hours": "hours of the day",
    "runs": "run of the control",
}


class DriftPlot(QWidget):
    """Draws the levels of one finding; the largest jump is drawn thicker."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._finding: DriftFinding | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("level of the control over time")

    def show_finding(self, finding: DriftFinding | None) -> None:
        """Show it."""
        self._finding = finding
        self.setAccessibleDescription("" if finding is None else finding.sentence)
        self.update()

    def minimumSizeHint(self) -> QSize:
        """Room for axes."""
        return QSize(360, 240)

    def sizeHint(self) -> QSize:
        """Ask for a little more."""
        return QSize(460, 260)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  # Qt's signature
        """Draw axes, levels and line."""
        found = self._finding
        if found is None:
            return
        known = [
            (time, level)
            for time, level in zip(found.time, found.level, strict=False)
            if math.isfinite(time) and math.isfinite(level)
        ]
        if not known:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        frame = Frame.within(
            QRectF(self.rect()),
            spanned([time for time, _ in known], 1.0),
            spanned([level for _, level in known], 2.0),
        )
        counts = found.time_unit in ("pairs", "runs")
        words = _X_WORDS.get(found.time_unit, found.time_unit)
        frame.draw(painter, words, found.unit, counts=counts)
        self._draw_slope(painter, frame, found, known)
        theme = current_theme()
        steps = list(itertools.pairwise(known))
        largest = max(steps, key=lambda s: abs(s[1][1] - s[0][1]), default=None)
        for step in steps:
            is_large = found.is_suspect and step is largest
            colour = theme.attention if is_large else theme.accent
            painter.setPen(QPen(QColor(colour), 4 if is_large else 1.5))
            painter.drawLine(frame.point(*step[0]), frame.point(*step[1]))
        painter.setPen(QPen(QColor(theme.accent), 2))
        painter.setBrush(QColor(theme.accent))
        for time, level in known:
            painter.drawEllipse(frame.point(time, level), _HALF, _HALF)
        painter.end()

    def _draw_slope(
        self,
        painter: QPainter,
        frame: Frame,
        found: DriftFinding,
        known: list[tuple[float, float]],
    ) -> None:
        slope = found.drift.slope
        if slope is None:
            return
        count = len(known)
        x0, y0 = sum(t for t, _ in known) / count, sum(v for _, v in known) / count
        ends = [QPointF(x, y0 + slope * (x - x0)) for x in (known[0][0], known[-1][0])]
        pen = QPen(QColor(current_theme().rail), 2)
        pen.setDashPattern([4, 3])
        painter.setPen(pen)
        painter.drawLine(*(frame.point(end.x(), end.y()) for end in ends))
