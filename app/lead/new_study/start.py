"""What stands in place of the grid as long as nothing is in it: what it is for, the first step."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.parts.buttons import PrimaryButton, QuietButton
from app.parts.fonts import font


class GridStart(QWidget):
    """Offers to choose recordings, or to begin with empty rows.

    Signals
    -------
    files_asked
    set_asked
    """

    files_asked = Signal()
    set_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        invitation = QLabel("Drop the recordings here")
        invitation.setFont(font("heading"))
        invitation.setAlignment(Qt.AlignmentFlag.AlignCenter)
        how = QLabel(
            "One file for each set on each condition: a sound file, "
            "or a measurement as UFF, MAT, HDF5 or MF4. Names such as birch_coarse_80.wav "
            "find their row and column by themselves; all of it can be changed afterwards."
        )
        how.setProperty("look", "soft")
        how.setWordWrap(True)
        how.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.choose = PrimaryButton("Choose recordings")
        self.choose.clicked.connect(self.files_asked)
        self.by_hand = QuietButton("Or begin with empty rows")
        self.by_hand.clicked.connect(self.set_asked)
        row = QHBoxLayout()
        row.addStretch(1)
        row.addWidget(self.choose)
        row.addWidget(self.by_hand)
        row.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        column.addStretch(2)
        column.addWidget(invitation)
        column.addWidget(how)
        column.addLayout(row)
        column.addStretch(3)
