"""A row of widgets that goes on in the next line where there is no room."""

from collections.abc import Iterator

from PySide6.QtCore import QEvent, QPoint, QRect, QSize, Qt
from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

_WITHOUT_LIMIT_PX = 10_000


class FlowRow(QWidget):
    """Puts widgets side by side from the left, each at its own size, and breaks lines.

    It places its widgets itself: a layout written in Python was asked for its height by Qt when
    Qt had already taken the layout's items away.
    """

    def __init__(
        self, *widgets: QWidget, gap_px: int = 12, line_gap_px: int = 6, indent_px: int = 0
    ) -> None:
        super().__init__()
        self._gap, self._line_gap, self._indent = gap_px, line_gap_px, indent_px
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        for widget in widgets:
            self.add(widget)

    def add(self, widget: QWidget) -> None:
        """Put a widget at the end."""
        is_hidden = widget.testAttribute(Qt.WidgetAttribute.WA_WState_ExplicitShowHide)
        is_hidden = is_hidden and widget.isHidden()
        widget.setParent(self)
        if self.isVisible() and not is_hidden:
            widget.show()

    def heightForWidth(self, width: int) -> int:
        """Return the height of all lines at a width."""
        return max((box.bottom() + 1 for _, box in self._boxes(width)), default=0)

    def sizeHint(self) -> QSize:
        """Return the size of one line."""
        wide = max((box.right() + 1 for _, box in self._boxes(_WITHOUT_LIMIT_PX)), default=0)
        return QSize(wide, self.heightForWidth(_WITHOUT_LIMIT_PX))

    def minimumSizeHint(self) -> QSize:
        """Return the width of the widest widget: the rest goes into further lines."""
        sizes = [_size(widget) for widget in self._shown()]
        wide = self._indent + max((size.width() for size in sizes), default=0)
        return QSize(wide, max((size.height() for size in sizes), default=0))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Place the widgets."""
        super().resizeEvent(event)
        self._place()

    def showEvent(self, event: QShowEvent) -> None:
        """Place them again: a row out of sight is not told when one of them is shown or hidden."""
        super().showEvent(event)
        self.updateGeometry()
        self._place()

    def event(self, event: QEvent) -> bool:
        """Place them again when one of them is shown, hidden or of another size."""
        if event.type() == QEvent.Type.LayoutRequest:
            self.updateGeometry()
            self._place()
        return super().event(event)

    def _shown(self) -> list[QWidget]:
        # Qt's own list, in the order of adding: what was deleted is no longer in it.
        children = [child for child in self.children() if isinstance(child, QWidget)]
        return [child for child in children if not child.isHidden() and not child.isWindow()]

    def _place(self) -> None:
        for widget, box in self._boxes(self.width()):
            widget.setGeometry(box)

    def _boxes(self, width: int) -> Iterator[tuple[QWidget, QRect]]:
        """Yield each widget that is shown and where it stands in a row of this width."""
        room = max(width - self._indent, 1)
        top = 0
        for line in self._lines(room):
            high = max(size.height() for _, size in line)
            left = self._indent
            for widget, size in line:
                yield widget, QRect(QPoint(left, top + (high - size.height()) // 2), size)
                left += size.width() + self._gap
            top += high + self._line_gap

    def _lines(self, room: int) -> list[list[tuple[QWidget, QSize]]]:
        lines: list[list[tuple[QWidget, QSize]]] = []
        used = 0
        for widget in self._shown():
            size = _size(widget).boundedTo(QSize(room, _WITHOUT_LIMIT_PX))
            if not lines or used + self._gap + size.width() > room:
                lines.append([])
                used = -self._gap
            lines[-1].append((widget, size))
            used += self._gap + size.width()
        return lines


def _size(widget: QWidget) -> QSize:
    wanted = widget.sizeHint().expandedTo(widget.minimumSizeHint())
    return wanted.expandedTo(widget.minimumSize()).boundedTo(widget.maximumSize())
