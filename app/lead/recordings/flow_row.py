"""A row of widgets that goes on in the next line where there is no room."""

from PySide6.QtCore import QPoint, QRect, QSize, Qt
from PySide6.QtWidgets import QLayout, QLayoutItem, QWidget


class FlowRow(QLayout):
    """Puts widgets side by side from the left, each at its own size, and breaks lines."""

    def __init__(self, gap_px: int = 12, line_gap_px: int = 6) -> None:
        super().__init__()
        self._items: list[QLayoutItem] = []
        self._gap, self._line_gap = gap_px, line_gap_px
        self.setContentsMargins(0, 0, 0, 0)

    def addItem(self, item: QLayoutItem) -> None:  # noqa: N802  # Qt's name
        """Take an item in at the end."""
        self._items.append(item)

    def count(self) -> int:
        """Count the items."""
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem | None:  # noqa: N802  # Qt's name
        """Return an item; None past the end."""
        return self._items[index] if 0 <= index < len(self._items) else None

    def takeAt(self, index: int) -> QLayoutItem | None:  # noqa: N802  # Qt's name
        """Take an item out."""
        return self._items.pop(index) if 0 <= index < len(self._items) else None

    def expandingDirections(self) -> Qt.Orientation:  # noqa: N802  # Qt's name
        """Ask for no more room than is needed."""
        return Qt.Orientation(0)

    def hasHeightForWidth(self) -> bool:
        """Say that a narrow row is higher."""
        return True

    def heightForWidth(self, width: int) -> int:  # Qt's name
        """Return the height of all lines at a width."""
        margins = self.contentsMargins()
        inner = QRect(0, 0, width - margins.left() - margins.right(), 0)
        return self._arrange(inner, is_moving=False) + margins.top() + margins.bottom()

    def setGeometry(self, rect: QRect) -> None:  # noqa: N802  # Qt's name
        """Place the items."""
        super().setGeometry(rect)
        self._arrange(rect.marginsRemoved(self.contentsMargins()), is_moving=True)

    def sizeHint(self) -> QSize:
        """Return the size of one line."""
        sizes = [item.sizeHint() for item in self._shown()]
        width = sum(size.width() for size in sizes) + self._gap * max(len(sizes) - 1, 0)
        height = max((size.height() for size in sizes), default=0)
        return QSize(width, height).grownBy(self.contentsMargins())

    def minimumSize(self) -> QSize:  # noqa: N802  # Qt's name
        """Return the size of the largest item: the rest goes into further lines."""
        sizes = [item.minimumSize() for item in self._shown()]
        widest = max((size.width() for size in sizes), default=0)
        highest = max((size.height() for size in sizes), default=0)
        return QSize(widest, highest).grownBy(self.contentsMargins())

    def _shown(self) -> list[QLayoutItem]:
        return [item for item in self._items if not item.isEmpty()]

    def _arrange(self, rect: QRect, *, is_moving: bool) -> int:
        y = rect.y()
        for line in self._lines(max(rect.width(), 1)):
            height, x = max(size.height() for _, size in line), rect.x()
            for item, size in line:
                if is_moving:
                    item.setGeometry(QRect(QPoint(x, y + (height - size.height()) // 2), size))
                x += size.width() + self._gap
            y += height + self._line_gap
        return max(y - self._line_gap - rect.y(), 0)

    def _lines(self, width: int) -> list[list[tuple[QLayoutItem, QSize]]]:
        lines: list[list[tuple[QLayoutItem, QSize]]] = []
        used = 0
        for item in self._shown():
            size = item.sizeHint().boundedTo(QSize(width, 10_000))
            if not lines or used + self._gap + size.width() > width:
                lines.append([])
                used = -self._gap
            lines[-1].append((item, size))
            used += self._gap + size.width()
        return lines


def flowing(*widgets: QWidget, gap_px: int = 12) -> FlowRow:
    """Return a row of these widgets."""
    row = FlowRow(gap_px)
    for widget in widgets:
        row.addWidget(widget)
    return row
