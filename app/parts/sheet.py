"""The part of a page that scrolls: as tall as its contents need at its width, no taller."""

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QLayout, QScrollArea, QWidget


class Sheet(QWidget):
    """Holds the layout that scrolls."""

    def __init__(self, contents: QLayout) -> None:
        super().__init__()
        self.setLayout(contents)

    def minimumSizeHint(self) -> QSize:
        """Leave the height to the width: labels that wrap ask for too much of it otherwise."""
        layout = self.layout()
        return QSize(0 if layout is None else layout.minimumSize().width(), 0)


class PlainScroll(QScrollArea):
    """Scrolls what it holds, without a frame of its own; the keys go to what is inside."""

    def __init__(self, inside: QWidget | None = None, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        if inside is not None:
            self.setWidget(inside)


class SheetScroll(PlainScroll):
    """Scrolls a sheet up and down only.

    Signals
    -------
    resized()
        There is more or less room than before.
    """

    resized = Signal()

    def __init__(self, contents: QLayout, parent: QWidget | None = None) -> None:
        super().__init__(Sheet(contents), parent)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Tell that the room has changed."""
        super().resizeEvent(event)
        self.resized.emit()
