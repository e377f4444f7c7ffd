"""The card of one attribute while it is written: name, definition, band, manoeuvre."""

from dataclasses import replace

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QGridLayout, QLabel, QLineEdit, QPushButton, QWidget

from app.parts.asking import leave_or_ask
from app.parts.buttons import QuietButton
from app.parts.fields import Choice, NumberField, once_read, text_field
from app.parts.headings import plain_label
from app.parts.layouts import Air, Stretched, in_column, in_row
from ratings.study.attributes import Attribute

_HIGHEST_HZ = 20_000.0
_LEAST_FIELD_PX = 88


class AttributeCard(QWidget):
    """Fields of one attribute; a definition is asked for, because words differ between houses.

    Signals
    -------
    kept(Attribute)
        To be taken as it is written.
    edited(Attribute)
        As it is written now.
    closed
        To be forgotten.
    """

    kept = Signal(object)
    edited = Signal(object)
    closed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._attribute = Attribute("", "", "")
        self.name = self._text("name of the attribute", "the panel's own word")
        self.definition = self._text(
            "definition of the attribute", "what is to be heard, in a few words"
        )
        self.low = self._hertz("lower edge of the band in hertz")
        self.high = self._hertz("upper edge of the band in hertz")
        self.manoeuvre = Choice(
            "manoeuvre that shows the attribute",
            {
                "in every manoeuvre": None,
                "at steady speed only": "steady",
                "in a coast-down only": "coast-down",
            },
        )
        self._problem = plain_label("", "small", "attention")
        self._problem.setWordWrap(True)
        self._problem.setContentsMargins(8, 4, 8, 4)
        self.keep = QPushButton("Keep attribute")
        self.keep.clicked.connect(once_read(self, self._say))
        back = QuietButton("Cancel")
        back.clicked.connect(self.go_back)
        #: Where Tab leads, in this order.
        self.stops: tuple[QWidget, ...] = (
            *(self.name, self.definition, self.low, self.high, self.manoeuvre),
            *(self.keep, back),
        )
        self._lay_out(back)
        for line in (self.name, self.definition):
            line.textEdited.connect(self._tell_edit)
        for number in (self.low, self.high):
            number.valueChanged.connect(self._tell_edit)
        self.manoeuvre.activated.connect(self._tell_edit)

    def _lay_out(self, back: QuietButton) -> None:
        band = in_row(Stretched(self.low), QLabel("to"), Stretched(self.high), gap_px=6)
        fields = QGridLayout()
        fields.setHorizontalSpacing(8)
        fields.setVerticalSpacing(8)
        fields.setColumnStretch(1, 1)
        for row, words in enumerate(("Name", "Definition", "Band", "Heard")):
            fields.addWidget(QLabel(words), row, 0)
        fields.addWidget(self.name, 0, 1)
        fields.addWidget(self.definition, 1, 1)
        fields.addLayout(band, 2, 1)
        fields.addWidget(self.manoeuvre, 3, 1)
        buttons = in_row(back, Air(share=1), self.keep)
        in_column(fields, self._problem, Air(share=1), buttons, of=self, gap_px=8)

    def show_attribute(self, attribute: Attribute, written: Attribute | None = None) -> None:
        """Fill the fields from an attribute, or from what was written of it and not kept yet.

        An empty key stands for a new one.
        """
        self._attribute = attribute
        shown = attribute if written is None else written
        self.name.setText(shown.name)
        self.definition.setText(shown.definition)
        for field, edge_hz in ((self.low, shown.low_hz), (self.high, shown.high_hz)):
            with QSignalBlocker(field):
                field.setValue(edge_hz or 0.0)
                field.reset()
        self.manoeuvre.setCurrentIndex(self.manoeuvre.findData(shown.manoeuvre))
        self.tell("")

    def tell(self, words: str) -> None:
        """Say what is missing."""
        self._problem.setText(words)
        self._problem.setVisible(bool(words))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Close on Esc; what was written is asked about."""
        if event.key() == Qt.Key.Key_Escape:
            self.go_back()
        else:
            super().keyPressEvent(event)

    def _text(self, name: str, example: str) -> QLineEdit:
        field = text_field(name, example)
        field.returnPressed.connect(once_read(self, self._say))
        return field

    def _hertz(self, name: str) -> NumberField:
        field = NumberField(name, 0.0, _HIGHEST_HZ, unit="Hz", nothing="no edge")
        field.setSingleStep(10.0)
        field.setMinimumWidth(_LEAST_FIELD_PX)
        return field

    def go_back(self) -> None:
        """Close without keeping, once whoever has written something has said so."""
        name = self.name.text().strip()
        at_stake = ""
        if self._written() != self._attribute:
            at_stake = (
                f"The attribute {name} is written and not kept."
                if name
                else "An attribute is being written and not kept."
            )
        leave_or_ask(self, at_stake, self.closed.emit, "Discard it")

    def _say(self) -> None:
        self.kept.emit(self._written())

    def _tell_edit(self) -> None:
        # What was missing may be there now; whether it is, is told when it is to be kept.
        self.tell("")
        self.edited.emit(self._written())

    def _written(self) -> Attribute:
        return replace(
            self._attribute,
            name=self.name.text(),
            definition=self.definition.text(),
            low_hz=self.low.value() or None,
            high_hz=self.high.value() or None,
            manoeuvre=self.manoeuvre.currentData(),
        )
