"""The field for the measured level of an output."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent

from app.parts.fields import NumberField
from app.parts.headings import SoftLine
from app.playback.level import HIGHEST_OUTPUT_DB, LOWEST_OUTPUT_DB, check_output_level
from ratings.errors import NumberError, PlaybackError

_DECIMALS = 1


class LevelField(NumberField):
    """Takes the level at the ear of a full-scale sine, in dB; closed until it is to be changed.

    A level that cannot be is refused by the one check there is, in a line of the page.

    Signals
    -------
    given_up
        Esc was pressed: what was typed is gone, and the value is what it was.

    Attributes
    ----------
    line
        Where a refusal is said; hidden without one.
    """

    given_up = Signal()

    def __init__(self) -> None:
        self.line = SoftLine()
        super().__init__(
            "level of a full-scale sine at the ear, in dB",
            LOWEST_OUTPUT_DB - 10.0**-_DECIMALS,
            HIGHEST_OUTPUT_DB,
            decimals=_DECIMALS,
            unit="dB at the ear",
            nothing="not measured",
        )
        self.line.setProperty("look", "refusal")
        self.line.hide()
        self.setSingleStep(10.0**-_DECIMALS)
        # What was measured once must not change by a stray key.
        self.setEnabled(False)

    def show_level(self, level_db: float | None) -> None:
        """Show a level; None for not measured."""
        self.blockSignals(True)
        self.setValue(self.minimum() if level_db is None else level_db)
        self.blockSignals(False)

    def level_of(self, value: float) -> float | None:
        """Return the level that a value of the field stands for."""
        return None if value == self.minimum() else value

    @property
    def refusal(self) -> str:
        """Why what was typed is not taken; empty when nothing is told."""
        return self.line.text()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Give the edit up with Esc, and leave the page where it is."""
        if event.key() == Qt.Key.Key_Escape:
            self.reset()
            self.given_up.emit()
        else:
            super().keyPressEvent(event)

    def _refuse_out_of_range(self, bare: str, value: float) -> None:  # noqa: ARG002  # the base's signature
        try:
            check_output_level(value)
        except PlaybackError as problem:
            raise NumberError(problem.what_happened, problem.what_to_do) from problem

    def _tell(self, words: str) -> None:
        self._say(words)

    def _forget(self) -> None:
        if self.refusal:
            self._say("")

    def _say(self, words: str) -> None:
        self.line.setText(words)
        self.line.setVisible(bool(words))
        self._mark(words)
