"""The card that shows the keys of a screen."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QGridLayout, QLabel, QVBoxLayout, QWidget

from app.parts.fonts import font
from app.parts.layouts import clear_layout, in_column
from app.parts.overlay import Overlay

_VEIL = 215  # of 255: the screen behind stays in sight
_MOST_ROWS = 9


class KeysCard(Overlay):
    """A card over its parent, opened by ``?``; Esc, ``?`` or a click closes it.

    Signals
    -------
    closed()
        The card was closed and the keys are back where they were.
    """

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent, _VEIL)
        self._card = QFrame(self)
        self._card.setProperty("look", "panel")
        self._rows = QGridLayout()
        self._rows.setHorizontalSpacing(16)
        self._rows.setVerticalSpacing(6)
        heading = QLabel("Keys of this screen")
        heading.setFont(font("heading"))
        footing = QLabel("Esc, ? or a click closes this card.")
        footing.setProperty("look", "soft")
        in_column(
            heading, self._rows, footing, of=self._card, gap_px=16, margins_px=(32, 20, 32, 20)
        )
        outer = QVBoxLayout(self)
        outer.addWidget(self._card, 0, Qt.AlignmentFlag.AlignCenter)
        self.setAccessibleName(heading.text())

    def set_keys(self, keys: Sequence[tuple[str, str]]) -> None:
        """Show these keys, each with what it does; many stand in two columns."""
        clear_layout(self._rows)
        high = len(keys) if len(keys) <= _MOST_ROWS else (len(keys) + 1) // 2
        for place, (key, what) in enumerate(keys):
            column, row = divmod(place, high)
            cap = QLabel(key)
            cap.setProperty("look", "key")
            cap.setAlignment(Qt.AlignmentFlag.AlignCenter)
            cap.setFont(font("strong"))
            self._rows.addWidget(cap, row, 3 * column)
            self._rows.addWidget(QLabel(what), row, 3 * column + 1)
            self._rows.setColumnMinimumWidth(2, 16 if column else 0)
        self.setAccessibleDescription(". ".join(f"{key}: {what}" for key, what in keys))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Close on ``?`` as on Esc."""
        if event.text() == "?":
            self.put_away()
        super().keyPressEvent(event)
