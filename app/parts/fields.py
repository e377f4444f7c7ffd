"""Fields for numbers with air before the figure."""

from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QDoubleSpinBox, QSpinBox, QWidget

# The style sheet's padding does not reach the left of a number field.
_AIR_PX = 10


class WholeNumberField(QSpinBox):
    """A field for a whole number."""

    def __init__(self, spoken_name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(spoken_name)
        self.lineEdit().setTextMargins(_AIR_PX, 0, 0, 0)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel to the page: a number must never change by scrolling."""
        event.ignore()


class NumberField(QDoubleSpinBox):
    """A field for a number with decimals."""

    def __init__(self, spoken_name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(spoken_name)
        self.lineEdit().setTextMargins(_AIR_PX, 0, 0, 0)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel to the page: a number must never change by scrolling."""
        event.ignore()
