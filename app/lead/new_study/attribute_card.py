"""The card of one attribute while it is written: name, definition, band, manoeuvre."""

from dataclasses import replace

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QDoubleSpinBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.lead.new_study.inputs import choice_field, number_field, text_field
from app.parts.buttons import QuietButton
from app.parts.fonts import font
from ratings.study.attributes import Attribute

_HIGHEST_HZ = 20_000.0


class AttributeCard(QWidget):
    """Fields of one attribute; a definition is asked for, because words differ between houses.

    Signals
    -------
    kept(Attribute)
        To be taken as it is written.
    closed
        To be forgotten.
    """

    kept = Signal(object)
    closed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._attribute = Attribute("", "", "")
        self.name = self._text(self.tr("name of the attribute"), self.tr("the panel's own word"))
        self.definition = self._text(
            self.tr("definition of the attribute"), self.tr("what is to be heard, in a few words")
        )
        self.low = self._hertz(self.tr("lower edge of the band in hertz"))
        self.high = self._hertz(self.tr("upper edge of the band in hertz"))
        self.manoeuvre = choice_field(
            self.tr("manoeuvre that shows the attribute"),
            {
                self.tr("in every manoeuvre"): None,
                self.tr("at steady speed only"): "steady",
                self.tr("in a coast-down only"): "coast-down",
            },
        )
        self._problem = QLabel()
        self._problem.setProperty("look", "attention")
        self._problem.setFont(font("small"))
        self._problem.setWordWrap(True)
        self._problem.setContentsMargins(8, 4, 8, 4)
        self.keep = QPushButton(self.tr("Keep"))
        self.keep.setAccessibleName(self.tr("keep this attribute"))
        self.keep.clicked.connect(self._say)
        back = QuietButton(self.tr("Back without keeping"))
        back.clicked.connect(self.closed)
        #: Where Tab leads, in this order.
        self.stops: tuple[QWidget, ...] = (
            *(self.name, self.definition, self.low, self.high, self.manoeuvre),
            *(self.keep, back),
        )
        self._lay_out(back)

    def _lay_out(self, back: QuietButton) -> None:
        band = QHBoxLayout()
        band.setSpacing(8)
        band.addWidget(self.low, 1)
        band.addWidget(QLabel(self.tr("to")))
        band.addWidget(self.high, 1)
        fields = QGridLayout()
        fields.setHorizontalSpacing(12)
        fields.setVerticalSpacing(8)
        fields.setColumnStretch(1, 1)
        for row, words in enumerate(
            (self.tr("Name"), self.tr("Definition"), self.tr("Band"), self.tr("Heard"))
        ):
            fields.addWidget(QLabel(words), row, 0)
        fields.addWidget(self.name, 0, 1)
        fields.addWidget(self.definition, 1, 1)
        fields.addLayout(band, 2, 1)
        fields.addWidget(self.manoeuvre, 3, 1)
        buttons = QHBoxLayout()
        buttons.addWidget(back)
        buttons.addStretch(1)
        buttons.addWidget(self.keep)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        column.addLayout(fields)
        column.addWidget(self._problem)
        column.addStretch(1)
        column.addLayout(buttons)

    def show_attribute(self, attribute: Attribute) -> None:
        """Fill the fields from an attribute; an empty key stands for a new one."""
        self._attribute = attribute
        self.name.setText(attribute.name)
        self.definition.setText(attribute.definition)
        self.low.setValue(attribute.low_hz or 0.0)
        self.high.setValue(attribute.high_hz or 0.0)
        self.manoeuvre.setCurrentIndex(self.manoeuvre.findData(attribute.manoeuvre))
        self.tell("")

    def tell(self, words: str) -> None:
        """Say what is missing."""
        self._problem.setText(words)
        self._problem.setVisible(bool(words))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Close on Esc without keeping."""
        if event.key() == Qt.Key.Key_Escape:
            self.closed.emit()
        else:
            super().keyPressEvent(event)

    def _text(self, name: str, example: str) -> QLineEdit:
        field = text_field(name, example)
        field.returnPressed.connect(self._say)
        return field

    def _hertz(self, name: str) -> QDoubleSpinBox:
        field = number_field(name, _HIGHEST_HZ, "Hz", self.tr("no edge"))
        field.setSingleStep(10.0)
        return field

    def _say(self) -> None:
        self.kept.emit(
            replace(
                self._attribute,
                name=self.name.text(),
                definition=self.definition.text(),
                low_hz=self.low.value() or None,
                high_hz=self.high.value() or None,
                manoeuvre=self.manoeuvre.currentData(),
            )
        )
