"""How far long work has got, as a thin line that fills."""

from PySide6.QtWidgets import QProgressBar, QWidget

_FINE_STEPS = 1000
_HIGH_PX = 8


class ProgressLine(QProgressBar):
    """Shows the part of something that is done; the words stand beside it.

    Parameters
    ----------
    name
        What is under way, for those who hear the screen.
    """

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setRange(0, _FINE_STEPS)
        self.setTextVisible(False)
        self.setFixedHeight(_HIGH_PX)
        self.setAccessibleName(name)

    def show_part(self, part: float) -> None:
        """Show a part, 0 to 1."""
        self.setValue(round(part * _FINE_STEPS))
