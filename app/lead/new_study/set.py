"""The head of a row of the grid: a set's name, whether it is the control, and a way out."""

from PySide6.QtCore import Signal
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QHBoxLayout, QRadioButton, QWidget

from app.parts.fields import text_field
from app.parts.icons import IconButton
from ratings.study.sets import TyreSet

#: The radio buttons stand in a column of their own, under their word.
CONTROL_WIDTH_PX = 48


def fill_with_panel(widget: QWidget) -> None:
    """Let nothing shine through a widget that others scroll under."""
    widget.setAutoFillBackground(True)
    widget.setBackgroundRole(QPalette.ColorRole.Base)


class SetHead(QWidget):
    """Names a set and marks it as the control.

    Signals
    -------
    renamed(str)
    control_chosen
    taken_out
    """

    renamed = Signal(str)
    control_chosen = Signal()
    taken_out = Signal()

    def __init__(self, tyre_set: TyreSet, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        fill_with_panel(self)
        self.control = QRadioButton()
        # Every row is a parent of its own, so the grid sees to it that only one is marked.
        self.control.setAutoExclusive(False)
        self.control.clicked.connect(self._choose)
        self.control.setFixedWidth(CONTROL_WIDTH_PX)
        self.name = text_field("name of the set", "name of the set")
        self.name.setMinimumWidth(90)
        self.name.textEdited.connect(self.renamed)
        self._out = IconButton("close", "", self)
        self._out.clicked.connect(self.taken_out)
        #: Where Tab leads, in this order.
        self.stops: tuple[QWidget, ...] = (self.control, self.name, self._out)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        row.addWidget(self.control)
        row.addWidget(self.name, 1)
        row.addWidget(self._out)
        self.show_set(tyre_set)

    def show_set(self, tyre_set: TyreSet) -> None:
        """Show the set as it is now; what is being typed is left alone."""
        if self.name.text() != tyre_set.name:
            self.name.setText(tyre_set.name)
        self.control.setChecked(tyre_set.is_control)
        self.name.setAccessibleName(f"name of set {tyre_set.name}")
        words = f"{tyre_set.name} is the control"
        self.control.setAccessibleName(words)
        self.control.setToolTip(
            words if tyre_set.is_control else f"Make {tyre_set.name} the control"
        )
        self._out.show_icon("close", f"remove {tyre_set.name} from the study")

    def _choose(self) -> None:
        self.control.setChecked(True)
        self.control_chosen.emit()
