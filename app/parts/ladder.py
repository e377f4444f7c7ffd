"""The score ladder: one attribute, one rail from 1 to 10, the marks of both sides."""

from PySide6.QtCore import QEvent, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QEnterEvent,
    QFocusEvent,
    QFontMetrics,
    QFontMetricsF,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.parts import ladder_painting as painting
from app.parts.buttons import QuietButton
from app.parts.fonts import font
from app.parts.ladder_grip import Grip, mark_near, move, take_hold
from app.parts.ladder_layout import COMPACT_PX, REGULAR_PX, LadderLayout, lay_out
from app.parts.ladder_words import (
    Comparison,
    asks_for_equal,
    difference_sentence,
    no_difference,
    rail_words,
    spoken_marks,
    typing_words,
)
from app.parts.plain import plain_tooltip
from app.parts.score_rail import Marks, on_step
from app.parts.shapes import draw_focus_ring
from app.parts.theme import current_theme
from ratings.reports.colours import Theme
from ratings.study.listening import Side

_TALLEST_PX = 128
#: What the button of a low ladder keeps clear of its frame.
_CLEAR_PX = 4


class ScoreLadder(QWidget):
    """One attribute's rail with the mark of each side.

    The ladder shows marks and asks for them; who owns the scores answers with `set_mark`. Keys are
    left to the screen.

    Signals
    -------
    mark_asked(str, float)
        The side and the score that a press or a drag asked for, once, at the release.
    no_difference_asked()
        The button "no difference" was pressed.
    take_back_asked(str)
        The side whose mark was pressed with the right button.
    """

    mark_asked = Signal(str, float)
    no_difference_asked = Signal()
    take_back_asked = Signal(str)

    def __init__(
        self,
        name: str,
        definition: str = "",
        step: float = 0.25,
        comparison: Comparison = "quieter",
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._name = name
        self._definition = definition
        self._step = step
        self._comparison: Comparison = comparison
        self._marks = Marks()
        self._sounding_side: Side | None = None
        self._grip: Grip | None = None
        self._pointer: painting.Pointer | None = None
        self._typed: painting.Typed | None = None
        self._is_active = False
        self._is_locked = False
        self._locked_because = ""
        self._asks_for_equal = False
        self._shows_words = False
        self._is_compact = False
        self._button_in = QSize()
        self._button = QuietButton(no_difference(), self)
        self._button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._button.clicked.connect(self.no_difference_asked)
        self._button.set_low(True)
        self._button.hide()
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setToolTip(plain_tooltip(definition))
        self.setAccessibleName(name)
        self.set_compact(False)
        self._say()

    @property
    def marks(self) -> Marks:
        """Marks that the ladder shows."""
        return self._marks

    @property
    def sounding_side(self) -> Side | None:
        """Side that a press on the rail scores; None when nothing sounds."""
        return self._sounding_side

    @sounding_side.setter
    def sounding_side(self, side: Side | None) -> None:
        self._sounding_side = side
        self._pointer = None
        self.update()

    def set_mark(self, side: Side, score: float | None) -> None:
        """Show a side's score, or take its mark away with None."""
        snapped = None if score is None else on_step(score, self._step)
        self._marks = self._marks.with_mark(side, snapped)
        self._say()

    def nudge(self, side: Side, steps: int) -> None:
        """Ask for a side's mark moved by steps; a side without a mark stays without one."""
        score = self._marks.of(side)
        if score is None or self._is_locked:
            return
        moved = on_step(score + steps * self._step, self._step)
        if moved != score:
            self.mark_asked.emit(side, moved)

    def sentence(self) -> str:
        """Say what the marks say, or why the ladder takes none."""
        if self._typed is not None:
            return typing_words(self._typed.side, self._typed.text)
        if self._asks_for_equal:
            return asks_for_equal()
        nothing_given = self._marks == Marks()
        if self._is_locked and self._locked_because and nothing_given:
            return self._locked_because
        return difference_sentence(self._marks, self._step, self._comparison)

    def set_active(self, is_active: bool) -> None:
        """Lift the ladder that the screen's keys go to, also while something else has the focus."""
        self._is_active = is_active
        self._place_button()

    def set_typed(self, side: Side | None, text: str = "", score: float | None = None) -> None:
        """Show a number while it is typed; None when nothing is.

        Parameters
        ----------
        score
            The score that it would be, None while it is none of the scale.
        """
        self._typed = None if side is None else painting.Typed(side, text, score)
        self._say()

    def set_locked(self, is_locked: bool, because: str = "") -> None:
        """Refuse marks; `because` stands where the sentence stands while nothing is rated."""
        self._is_locked = is_locked
        self._locked_because = because
        self._grip = self._pointer = None
        self._say()

    def set_asks_for_equal(self, asks: bool) -> None:
        """Say that the next score counts for both sides."""
        self._asks_for_equal = asks
        self._say()

    def set_shows_words(self, shows_words: bool) -> None:
        """Show the words for 1, 5 and 10 always, as the first ladder of a form does.

        Others show them while they are the active one.
        """
        self._shows_words = shows_words
        self.update()

    def set_compact(self, is_compact: bool, high_px: int = COMPACT_PX) -> None:
        """Make the ladder low, for a form of six attributes or more on a small screen.

        Parameters
        ----------
        high_px
            Height of the low ladder: what the screen can give.
        """
        self._is_compact, self._compact_px = is_compact, high_px
        lowest = high_px if is_compact else self._regular_height()
        self.setMinimumHeight(lowest)
        self.setMaximumHeight(lowest if is_compact else max(_TALLEST_PX, lowest))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.updateGeometry()

    def sizeHint(self) -> QSize:
        """Room for the rail at its usual length."""
        return QSize(1000, self.minimumHeight())

    def minimumSizeHint(self) -> QSize:
        """Room for a rail that can still be read."""
        return QSize(760, self.minimumHeight())

    def mark_box(self, side: Side) -> QRectF | None:
        """Box around a side's mark in the ladder's own pixels, None without a mark."""
        score = self._marks.of(side)
        if score is None:
            return None
        point = self._layout().rail_point(score)
        return QRectF(point.x() - 12, point.y() - 12, 24, 24)

    def rail_x(self, score: float) -> int:
        """Horizontal place of a score in the ladder's own pixels."""
        return round(self._layout().rail.position_px(score))

    def rail_y(self) -> int:
        """Vertical place of the rail in the ladder's own pixels."""
        return round(self._layout().rail_y)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold of the rail."""
        layout = self._layout()
        side = self._sounding_side
        if side is None or self._is_locked:
            return
        if event.button() == Qt.MouseButton.RightButton and layout.touch.contains(event.position()):
            marked = mark_near(layout.rail, self._marks, side, event.position().x())
            if marked is not None:
                self.take_back_asked.emit(marked)
        if event.button() != Qt.MouseButton.LeftButton:
            return
        if layout.touch.contains(event.position()):
            self._grip = take_hold(layout.rail, self._marks, side, event.position().x())
            self._pointer = None
            self.update()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Drag what is held, or show the score under the mouse."""
        layout = self._layout()
        if self._grip is not None:
            self._grip = move(self._grip, layout.rail, event.position().x())
            self.update()
            return
        pointer = None
        if self._takes_marks() and layout.touch.contains(event.position()):
            side = self._sounding_side
            if side is not None:
                pointer = painting.Pointer(side, layout.rail.score_at(event.position().x()))
        self.setCursor(Qt.CursorShape.PointingHandCursor if pointer else Qt.CursorShape.ArrowCursor)
        if pointer != self._pointer:
            self._pointer = pointer
            self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Ask for the mark where it was let go."""
        if self._grip is None or event.button() != Qt.MouseButton.LeftButton:
            return
        side, score = self._grip.outcome
        self._grip = None
        self.update()
        if score != self._marks.of(side):
            self.mark_asked.emit(side, score)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel to the page: a score must never change by scrolling."""
        event.ignore()

    def enterEvent(self, event: QEnterEvent) -> None:
        """Offer the button while the mouse is here."""
        super().enterEvent(event)
        self._place_button()

    def leaveEvent(self, event: QEvent) -> None:
        """Take the hair line and the button away."""
        self._pointer = None
        super().leaveEvent(event)
        self._place_button()

    def changeEvent(self, event: QEvent) -> None:
        """Measure again when the type changes."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self.set_compact(self._is_compact, self._compact_px)
            self._place_button()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep the button in its column."""
        super().resizeEvent(event)
        self._place_button()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  # Qt's signature
        """Draw the ladder in the theme in force."""
        theme, layout = current_theme(), self._layout()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        surface = self._draw_frame(painter, theme)
        painting.draw_name(painter, layout, self._name, self._definition, theme)
        painting.draw_rail(painter, layout, theme, is_locked=self._is_locked)
        if not layout.is_compact and (self._shows_words or self._is_lifted()):
            painting.draw_rail_words(painter, layout, rail_words(), theme)
        shown = self._shown_marks()
        painting.draw_marks(painter, layout, shown, theme, surface)
        pointer = self._pointer or self._held() or self._typed_place()
        if pointer is not None:
            painting.draw_pointer(painter, layout, pointer, theme, surface)
        painting.draw_figures(painter, layout, shown, theme, self._typed)
        painting.draw_sentence(painter, layout, self.sentence(), theme)
        painter.end()

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Lift the ladder."""
        super().focusInEvent(event)
        self._place_button()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Let the ladder down."""
        super().focusOutEvent(event)
        self._place_button()

    def _draw_frame(self, painter: QPainter, theme: Theme) -> str:
        """Draw the lifted panel of the active ladder; returns the colour behind the marks."""
        box = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        if not self._is_lifted():
            return theme.ground
        painter.setPen(QColor(theme.line))
        painter.setBrush(QColor(theme.panel))
        painter.drawRoundedRect(box, 10, 10)
        if self.hasFocus():
            side = self._sounding_side
            draw_focus_ring(painter, box, 10, theme.text if side is None else theme.side(side))
        return theme.panel

    def _layout(self) -> LadderLayout:
        # The widest sentence in use; a longer reason for a lock ends in dots.
        words = "listen to both sides first"
        widest = QFontMetricsF(font("body")).horizontalAdvance(words)
        return lay_out(self.width(), self.height(), self._step, widest + 4)

    def _regular_height(self) -> int:
        return max(REGULAR_PX, QFontMetrics(font("small")).height() * 2 + 36)

    def _is_lifted(self) -> bool:
        return self._is_active or self.hasFocus()

    def _takes_marks(self) -> bool:
        return self._sounding_side is not None and not self._is_locked

    def _shown_marks(self) -> Marks:
        """Give the marks as they would stand if what is held were let go here."""
        if self._grip is None:
            return self._marks
        side, score = self._grip.outcome
        return self._marks.with_mark(side, score)

    def _held(self) -> painting.Pointer | None:
        if self._grip is None:
            return None
        side, score = self._grip.outcome
        return painting.Pointer(side, score, is_held=True)

    def _typed_place(self) -> painting.Pointer | None:
        typed = self._typed
        if typed is None or typed.score is None:
            return None
        return painting.Pointer(typed.side, typed.score)

    def _say(self) -> None:
        """Bring the spoken description and the picture up to date."""
        parts = [self._definition, spoken_marks(self._marks, self._step), self.sentence()]
        if self._is_locked:
            parts.append("locked")
        self.setAccessibleDescription(", ".join(part for part in parts if part))
        self._place_button()

    def _place_button(self) -> None:
        """Show the button on the ladder in hand, unless the sides are already alike."""
        in_hand = self._is_lifted() or self.underMouse()
        useful = self._marks.difference != 0 and not self._is_locked
        self._button.setVisible(in_hand and useful)
        self.update()
        if self._button_in == self.size():
            # Most changes are of marks; the place hangs on the size alone.
            return
        self._button_in = self.size()
        size = self._button.sizeHint()
        right = round(self._layout().sentence.right())
        middle = self.height() // 2
        # The touch target reaches up behind the sentence; its pill stands below it.
        top = min(middle + 32 - size.height(), self.height() - size.height() - _CLEAR_PX)
        self._button.setGeometry(right - size.width(), top, size.width(), size.height())
