"""One cell of the grid of sets and conditions: the file in it, what it is, and a place to drop."""

from PySide6.QtCore import QEvent, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QDragEnterEvent,
    QDragLeaveEvent,
    QDropEvent,
    QEnterEvent,
    QFontMetricsF,
    QKeyEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
)
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QWidget

from app.parts.file_asking import dropped_files
from app.parts.fonts import font
from app.parts.icons import IconButton
from app.parts.plain import plain_tooltip
from app.parts.shapes import draw_focus_ring, draw_line
from app.parts.theme import current_theme
from ratings.intake.draft_review import CellView

CELL_HEIGHT_PX = 60
_LEAST_WIDTH_PX = 156
_INSET_PX = 8


def first_line(words: str, metrics: QFontMetricsF, width: float) -> tuple[str, str]:
    """Part words after as many as one line of `width` pixels holds, at least one."""
    parts = words.split()
    count = 1
    while count < len(parts) and metrics.horizontalAdvance(" ".join(parts[: count + 1])) <= width:
        count += 1
    return " ".join(parts[:count]), " ".join(parts[count:])


class FileCell(QAbstractButton):
    """Shows a file in two lines; a click asks for one, Delete takes it out.

    Signals
    -------
    files_dropped(list)
        Paths.
    emptied
        The file is to be taken out.
    """

    files_dropped = Signal(object)  # list[Path]
    emptied = Signal()

    def __init__(self, where: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._where = where
        self._view = CellView("empty")
        self._is_target = False
        self.setAcceptDrops(True)
        self.setMouseTracking(True)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._close = IconButton("close", "take this file out", self)
        self._close.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._close.clicked.connect(self.emptied)
        self._close.hide()

    def show_view(self, where: str, view: CellView) -> None:
        """Show what the cell holds now, and which set and condition it stands for."""
        self._where, self._view = where, view
        first = view.name or "choose a file"
        self.setAccessibleName(f"{where}: {first} {view.words}".rstrip())
        self.setAccessibleDescription(view.problem or view.warning)
        told = f"{view.name} {view.words} {view.warning}".strip()
        self.setToolTip(plain_tooltip(view.problem or told))
        self._show_close()
        self.update()

    @property
    def is_refused(self) -> bool:
        """Whether the file shown cannot be used."""
        return self._view.kind == "refused"

    def sizeHint(self) -> QSize:
        """Width of a short file name, height of two lines."""
        return QSize(_LEAST_WIDTH_PX + 40, CELL_HEIGHT_PX)

    def minimumSizeHint(self) -> QSize:
        """Keep enough width to tell files apart."""
        return QSize(_LEAST_WIDTH_PX, CELL_HEIGHT_PX)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Choose on Enter as on Space; take the file out on Delete."""
        if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            self.click()
        elif event.key() in {Qt.Key.Key_Delete, Qt.Key.Key_Backspace}:
            self.emptied.emit()
        else:
            super().keyPressEvent(event)

    def enterEvent(self, event: QEnterEvent) -> None:
        """Offer to take the file out while the mouse is here."""
        super().enterEvent(event)
        self._show_close()

    def leaveEvent(self, event: QEvent) -> None:
        """Take the offer back."""
        super().leaveEvent(event)
        self._show_close()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep the close button at the right edge."""
        super().resizeEvent(event)
        self._close.move(
            self.width() - self._close.width() - 4, (self.height() - self._close.height()) // 2
        )

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Show that files can be dropped here."""
        if dropped_files(event.mimeData()):
            event.acceptProposedAction()
            self._set_target(True)

    def dragLeaveEvent(self, event: QDragLeaveEvent) -> None:
        """Show that they went elsewhere."""
        super().dragLeaveEvent(event)
        self._set_target(False)

    def dropEvent(self, event: QDropEvent) -> None:
        """Take the files."""
        self._set_target(False)
        paths = dropped_files(event.mimeData())
        if paths:
            event.acceptProposedAction()
            self.files_dropped.emit(paths)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  # Qt's signature
        """Draw the frame, dashed while empty, and the two lines."""
        theme = current_theme()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        is_empty, is_refused = self._view.kind == "empty", self._view.kind == "refused"
        is_odd = bool(self._view.warning)
        raised = self.isEnabled() and (self.underMouse() or self._is_target)
        calm = theme.tick if is_empty else theme.line
        edge = theme.attention if is_refused or is_odd else theme.rail if raised else calm
        pen = QPen(QColor(theme.accent if self._is_target else edge), 2 if is_refused else 1.5)
        if is_empty and not self._is_target:
            pen.setStyle(Qt.PenStyle.DashLine)
        painter.setPen(pen)
        surface = theme.attention_tint if is_refused else theme.panel if is_empty else theme.ground
        painter.setBrush(QColor(surface))
        painter.drawRoundedRect(box, 8, 8)
        self._draw_words(painter, box)
        if self.hasFocus():
            draw_focus_ring(painter, box, 8, theme.text)
        painter.end()

    def _draw_words(self, painter: QPainter, box: QRectF) -> None:
        theme = current_theme()
        if self._view.kind == "empty":
            painter.setFont(font("body"))
            painter.setPen(QColor(theme.text if self.underMouse() else theme.soft_text))
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, "choose a file")
            return
        right = self._close.width() if self._close.isVisible() else _INSET_PX
        words = box.adjusted(_INSET_PX, 9, -right, -9)
        lines = self._lines(words.width())
        if len(lines) > 2:
            words = words.adjusted(0, -4, 0, 4)
        words.setHeight(words.height() / len(lines))
        for text, colour, elided_at in lines:
            draw_line(painter, words, text, "small", colour, elided_at)
            words.translate(0, words.height())

    def _lines(self, width: float) -> list[tuple[str, str, Qt.TextElideMode]]:
        """Give the file's name and what it is, with what is odd, or why it cannot be used."""
        theme, view = current_theme(), self._view
        middle, end = Qt.TextElideMode.ElideMiddle, Qt.TextElideMode.ElideRight
        name = (view.name, theme.text, middle)
        if view.kind == "refused":
            reason = first_line(view.words, QFontMetricsF(font("small")), width)
            return [name, *((text, theme.attention, end) for text in reason)]
        lines = [name, (view.words, theme.soft_text, middle)]
        return [*lines, (view.warning, theme.attention, middle)] if view.warning else lines

    def _set_target(self, is_target: bool) -> None:
        self._is_target = is_target
        self.update()

    def _show_close(self) -> None:
        self._close.setVisible(
            self._view.kind != "empty" and self.underMouse() and self.isEnabled()
        )
        self.update()
