"""A thin bar that shows which part of some work is done."""

from PySide6.QtWidgets import QProgressBar

_FINE_STEPS = 1000
_HEIGHT_PX = 8


class ThinBar(QProgressBar):
    """Filled as far as the work has got; words stand beside it, never on it."""

    def __init__(self, spoken_name: str) -> None:
        super().__init__()
        self.setRange(0, _FINE_STEPS)
        self.setTextVisible(False)
        self.setFixedHeight(_HEIGHT_PX)
        self.setAccessibleName(spoken_name)

    def show_part(self, part: float) -> None:
        """Show a part from 0 to 1."""
        self.setValue(round(part * _FINE_STEPS))
