"""The heads of the grid: a set before its row, a condition over its column and its drawer."""

from dataclasses import replace

from PySide6.QtCore import QRectF, QSignalBlocker, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import (
    QAbstractButton,
    QFrame,
    QLabel,
    QRadioButton,
    QSizePolicy,
    QWidget,
)

from app.parts.buttons import QuietButton
from app.parts.fields import Choice, NumberField, text_field
from app.parts.fonts import font
from app.parts.icons import IconButton
from app.parts.layouts import Stretched, in_row
from app.parts.plain import plain_tooltip
from app.parts.shapes import draw_focus_ring, draw_line
from app.parts.theme import current_theme
from ratings.study.sets import Condition, TyreSet

#: The radio buttons stand in a column of their own, under their word.
CONTROL_WIDTH_PX = 48
_HIGHEST_SPEED_KM_H = 300.0


def fill_with_panel(widget: QWidget) -> None:
    """Let nothing shine through a widget that others scroll under."""
    widget.setAutoFillBackground(True)
    widget.setBackgroundRole(QPalette.ColorRole.Base)


class SetHead(QWidget):
    """Names a set and marks it as the control.

    Signals
    -------
    renamed(str)
    control_chosen
    taken_out
    """

    renamed = Signal(str)
    control_chosen = Signal()
    taken_out = Signal()

    def __init__(self, tyre_set: TyreSet, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        fill_with_panel(self)
        self.control = QRadioButton()
        # Every row is a parent of its own, so the grid sees to it that only one is marked.
        self.control.setAutoExclusive(False)
        self.control.clicked.connect(self._choose)
        self.control.setFixedWidth(CONTROL_WIDTH_PX)
        self.name = text_field("name of the set", "name of the set")
        self.name.setMinimumWidth(90)
        self.name.textEdited.connect(self.renamed)
        self._out = IconButton("close", "", self)
        self._out.clicked.connect(self.taken_out)
        #: Where Tab leads, in this order.
        self.stops: tuple[QWidget, ...] = (self.control, self.name, self._out)
        in_row(self.control, Stretched(self.name), self._out, of=self, gap_px=0)
        self.show_set(tyre_set)

    def show_set(self, tyre_set: TyreSet) -> None:
        """Show the set as it is now; what is being typed is left alone."""
        if self.name.text() != tyre_set.name:
            self.name.setText(tyre_set.name)
        self.control.setChecked(tyre_set.is_control)
        self.name.setAccessibleName(f"name of set {tyre_set.name}")
        words = f"{tyre_set.name} is the control"
        self.control.setAccessibleName(words)
        self.control.setToolTip(
            words if tyre_set.is_control else f"Make {tyre_set.name} the control"
        )
        self._out.show_icon("close", f"remove {tyre_set.name} from the study")

    def _choose(self) -> None:
        self.control.setChecked(True)
        self.control_chosen.emit()


def driven_words(condition: Condition) -> str:
    """Say how a condition was driven, without its surface."""
    return replace(condition, surface="").title.removeprefix(", ")


class ConditionHead(QAbstractButton):
    """Heads a column; a click opens and closes the drawer that describes it."""

    def __init__(self, condition: Condition, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._condition = condition
        self.setCheckable(True)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.show_condition(condition)

    def show_condition(self, condition: Condition) -> None:
        """Show the condition as it is described now."""
        self._condition = condition
        self.setAccessibleName(f"condition {condition.title}")
        self.setToolTip(plain_tooltip(f"{condition.title}: click to describe it"))
        self.update()

    def sizeHint(self) -> QSize:
        """Height of two lines."""
        return QSize(150, 52)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  # Qt's signature
        """Draw surface over driving, and a bar under the one that is open."""
        theme = current_theme()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect())
        painter.fillRect(box, QColor(theme.panel))
        half = (box.height() - 8) / 2
        surface = QRectF(14, 2, box.width() - 20, half)
        words = driven_words(self._condition) or "steady speed"
        draw_line(painter, surface.translated(0, half), words, "small", theme.soft_text)
        surface.setRight(self._draw_pill(painter, box) - 8)
        draw_line(painter, surface, self._condition.surface.strip() or "?", "strong", theme.text)
        painter.setPen(Qt.PenStyle.NoPen)
        if self.isChecked():
            painter.setBrush(QColor(theme.accent))
            painter.drawRoundedRect(QRectF(14, box.height() - 4, box.width() - 28, 3), 1.5, 1.5)
        if self.hasFocus():
            draw_focus_ring(painter, box.adjusted(1, 0, -1, 0), 8, theme.text)
        painter.end()

    def _draw_pill(self, painter: QPainter, box: QRectF) -> float:
        """Draw the word that says what a click does; return its left edge."""
        theme = current_theme()
        chosen = font("small")
        words = "Close" if self.isChecked() else "Edit"
        metrics = QFontMetricsF(chosen)
        width = metrics.horizontalAdvance(words) + 20
        pill = QRectF(box.width() - width - 12, 4, width, metrics.height() + 4)
        raised = self.underMouse() and self.isEnabled()
        painter.setPen(QPen(QColor(theme.rail if raised else theme.tick), 1))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRoundedRect(pill, pill.height() / 2, pill.height() / 2)
        painter.setFont(chosen)
        painter.setPen(QColor(theme.text if raised else theme.soft_text))
        painter.drawText(pill, Qt.AlignmentFlag.AlignCenter, words)
        return pill.left()


class ConditionDrawer(QFrame):
    """Fields for surface, manoeuvre and speeds of one condition.

    Signals
    -------
    condition_changed(Condition)
        As it is described now.
    taken_out(int)
        Id of the condition.
    finished
        Enter was pressed.
    """

    condition_changed = Signal(object)
    taken_out = Signal(int)
    finished = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._condition = Condition(0, "")
        self.setProperty("look", "note")
        self.surface = text_field("surface of the condition", "surface")
        self.surface.setMinimumWidth(100)
        self.surface.returnPressed.connect(self.finished)
        self.manoeuvre = Choice(
            "manoeuvre of the condition",
            {"steady at": "steady", "coast-down from": "coast-down"},
        )
        self.manoeuvre.setFixedWidth(184)
        self.speed = self._speed("speed in km/h")
        self._to = QLabel("to")
        self.end_speed = self._speed("end of the coast-down in km/h")
        self.out = out = QuietButton("Remove")
        out.setToolTip("Remove this condition from the study")
        out.clicked.connect(lambda: self.taken_out.emit(self._condition.condition_id))
        in_row(
            Stretched(self.surface),
            *(self.manoeuvre, self.speed, self._to, self.end_speed, out),
            of=self,
            gap_px=6,
            margins_px=(8, 8, 8, 8),
        )
        self.surface.textEdited.connect(self._say)
        self.manoeuvre.activated.connect(self._say)
        self.speed.valueChanged.connect(self._say)
        self.end_speed.valueChanged.connect(self._say)

    def show_condition(self, condition: Condition) -> None:
        """Show a condition; what is being typed is left alone."""
        is_same = condition.condition_id == self._condition.condition_id
        self._condition = condition
        if not is_same or self.surface.text() != condition.surface:
            self.surface.setText(condition.surface)
        self.manoeuvre.setCurrentIndex(self.manoeuvre.findData(condition.manoeuvre))
        for field, speed_km_h in (
            (self.speed, condition.speed_km_h),
            (self.end_speed, condition.end_speed_km_h),
        ):
            if field.value() != (speed_km_h or 0.0):
                with QSignalBlocker(field):
                    field.setValue(speed_km_h or 0.0)
        coasts = condition.manoeuvre == "coast-down"
        self._to.setVisible(coasts)
        self.end_speed.setVisible(coasts)

    def _speed(self, name: str) -> NumberField:
        field = NumberField(name, 0.0, _HIGHEST_SPEED_KM_H, unit="km/h", nothing="? km/h")
        field.setSingleStep(10.0)
        field.setFixedWidth(116)
        return field

    def _say(self) -> None:
        coasts = self.manoeuvre.currentData() == "coast-down"
        self.condition_changed.emit(
            replace(
                self._condition,
                surface=self.surface.text(),
                manoeuvre=self.manoeuvre.currentData(),
                speed_km_h=self.speed.value() or None,
                end_speed_km_h=(self.end_speed.value() or None) if coasts else None,
            )
        )
