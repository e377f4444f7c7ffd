"""A place for one of several panels, as high as the one shown needs at least."""

from PySide6.QtCore import QEvent, QRect, QSize
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget


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
