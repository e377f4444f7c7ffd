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
from app.parts.shapes import draw_focus_ring
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
        name = QRectF(words.left(), words.top(), words.width(), words.height() / 2)
        if self._view.kind == "refused":
            self._draw_reason(painter, words.adjusted(0, -4, 0, 4), self._view.words)
            return
        if self._view.warning:
            self._draw_odd(painter, words.adjusted(0, -4, 0, 4))
            return
        self._draw_line(painter, name, self._view.name, theme.text)
        below = name.translated(0, words.height() / 2)
        self._draw_line(painter, below, self._view.words, theme.soft_text)

    def _draw_odd(self, painter: QPainter, box: QRectF) -> None:
        """Draw the name, what the file is, and what is odd about it."""
        theme, view = current_theme(), self._view
        line = QRectF(box.left(), box.top(), box.width(), box.height() / 3)
        coloured = (
            (view.name, theme.text),
            (view.words, theme.soft_text),
            (view.warning, theme.attention),
        )
        for place, (text, colour) in enumerate(coloured):
            self._draw_line(painter, line.translated(0, place * line.height()), text, colour)

    def _draw_reason(self, painter: QPainter, box: QRectF, reason: str) -> None:
        """Draw the name and under it two lines of why the file cannot be used."""
        theme = current_theme()
        line = QRectF(box.left(), box.top(), box.width(), box.height() / 3)
        self._draw_line(painter, line, self._view.name, theme.text)
        first, rest = first_line(reason, QFontMetricsF(font("small")), box.width())
        for place, text in enumerate((first, rest), start=1):
            below = line.translated(0, place * line.height())
            self._draw_line(painter, below, text, theme.attention, Qt.TextElideMode.ElideRight)

    def _draw_line(
        self,
        painter: QPainter,
        box: QRectF,
        text: str,
        colour: str,
        elided_at: Qt.TextElideMode = Qt.TextElideMode.ElideMiddle,
    ) -> None:
        chosen = font("small")
        painter.setFont(chosen)
        painter.setPen(QColor(colour))
        elided = QFontMetricsF(chosen).elidedText(text, elided_at, box.width())
        aligned = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        painter.drawText(box, aligned, elided)

    def _set_target(self, is_target: bool) -> None:
        self._is_target = is_target
        self.update()

    def _show_close(self) -> None:
        self._close.setVisible(
            self._view.kind != "empty" and self.underMouse() and self.isEnabled()
        )
        self.update()
