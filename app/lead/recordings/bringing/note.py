"""How a run was driven: temperatures, wind, pressures, loads, and a remark."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtWidgets import QGridLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from app.parts.fields import NumberField
from ratings.study.runs import RunNote

#: Field of the note: words, unit, lowest and highest value.
_FIELDS: dict[str, tuple[str, str, float, float]] = {
    "air_c": ("Air temperature", "°C", -60.0, 70.0),
    "surface_c": ("Road temperature", "°C", -60.0, 100.0),
    "tyre_air_c": ("Air in the tyres", "°C", -60.0, 150.0),
    "wind_m_s": ("Wind", "m/s", 0.0, 60.0),
    "pressure_front_kpa": ("Pressure, front", "kPa", 0.0, 1500.0),
    "pressure_rear_kpa": ("Pressure, rear", "kPa", 0.0, 1500.0),
    "load_front_kg": ("Load, front axle", "kg", 0.0, 50_000.0),
    "load_rear_kg": ("Load, rear axle", "kg", 0.0, 50_000.0),
}
_COLUMNS = 2
_STEP = 0.1


class NoteFields(QWidget):
    """One field for each measurement; the lowest value of each reads as not measured.

    Signals
    -------
    changed(RunNote)
    """

    changed = Signal(object)  # RunNote

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._note = RunNote()
        self.numbers = {key: _field(*told) for key, told in _FIELDS.items()}
        self.remark = QLineEdit()
        self.remark.setPlaceholderText("anything that happened on the way")
        self.remark.setAccessibleName("remark")
        grid = QGridLayout()
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(6)
        for place, (key, field) in enumerate(self.numbers.items()):
            row, column = divmod(place, _COLUMNS)
            grid.addWidget(QLabel(_FIELDS[key][0]), 2 * row, column)
            grid.addWidget(field, 2 * row + 1, column)
            grid.setColumnStretch(column, 1)
            field.valueChanged.connect(lambda _value, key=key: self._say_number(key))
        column_layout = QVBoxLayout(self)
        column_layout.setContentsMargins(0, 0, 0, 0)
        column_layout.addLayout(grid)
        column_layout.addWidget(self.remark)
        self.remark.textEdited.connect(self._say_remark)

    def show_note(self, note: RunNote, *, is_other_file: bool) -> None:
        """Show a note; what is being typed is left alone."""
        if note == self._note and not is_other_file:
            return
        self._note = note
        for key, field in self.numbers.items():
            value = getattr(note, key)
            with QSignalBlocker(field):
                field.setValue(field.minimum() if value is None else value)
        if self.remark.text() != note.remark:
            self.remark.setText(note.remark)

    def _say_number(self, key: str) -> None:
        field = self.numbers[key]
        value = None if field.value() == field.minimum() else field.value()
        self._note = replace(self._note, **{key: value})  # type: ignore[arg-type]  # a field's name
        self.changed.emit(self._note)

    def _say_remark(self, text: str) -> None:
        self._note = replace(self._note, remark=text)
        self.changed.emit(self._note)


def _field(name: str, unit: str, lowest: float, highest: float) -> NumberField:
    field = NumberField(
        f"{name} in {unit}",
        *(lowest - _STEP, highest),
        decimals=1,
        unit=unit,
        nothing=f"–  {unit}",
    )
    field.setValue(lowest - _STEP)
    return field
