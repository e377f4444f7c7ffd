"""How the speed of a run is known: as planned, from a file, from channels, or not."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtWidgets import (
    QButtonGroup,
    QLabel,
    QRadioButton,
    QVBoxLayout,
    QWidget,
)

from app.lead.calibration_fields import kept_line
from app.parts.buttons import FileButton
from app.parts.fields import NumberField, WholeNumberField
from app.parts.file_asking import AskPath, FilePurpose
from app.parts.flow_row import FlowRow
from app.parts.headings import SoftLine
from ratings.intake.run_draft import SpeedDraft, SpeedKind
from ratings.study.sets import Condition

_LONGEST_SHIFT_S = 3600.0


class SpeedFields(QWidget):
    """Ways, one of them chosen.

    Signals
    -------
    changed(SpeedDraft)
    """

    changed = Signal(object)  # SpeedDraft

    def __init__(self, ask_path: AskPath, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._ask_path = ask_path
        self._draft = SpeedDraft()
        self._group = QButtonGroup(self)
        self.ways: dict[SpeedKind, QRadioButton] = {
            "kept": QRadioButton("Keep current"),
            "steady": QRadioButton(),
            "file": QRadioButton("A file: CSV, GPX or NMEA"),
            "channel": QRadioButton("Speed channel"),
            "pulses": QRadioButton("A channel with pulses"),
            "unknown": QRadioButton("Speed unknown"),
        }
        self.kept = kept_line()
        self.file = FileButton()
        self.offset = NumberField(
            "seconds added to the times of the file",
            *(-_LONGEST_SHIFT_S, _LONGEST_SHIFT_S),
            decimals=2,
            unit="s",
        )
        self.offset.setPrefix("shifted by ")
        self.channel = _channel_field("channel that holds the speed")
        self.scale = NumberField(
            "km/h per unit of the channel",
            *(-1e6, 1e6),
            decimals=4,
            unit="km/h per unit",
        )
        self.pulse_channel = _channel_field("channel that holds the pulses")
        self.pulses = NumberField(
            "pulses per metre",
            *(0.001, 1e5),
            decimals=3,
            unit="pulses per metre",
        )
        # As high while there is none: a channel is chosen by steps.
        self.problem = SoftLine()
        self.problem.setProperty("look", "attention")
        self.problem.hold_lines(1)
        self._build()
        self._connect()

    def show_draft(
        self,
        draft: SpeedDraft,
        condition: Condition | None,
        channels: int,
        kept_words: str = "",
        problem: str = "",
    ) -> None:
        """Show what was said, for a file of so many channels; `kept_words` of a run before.

        Parameters
        ----------
        problem
            Why the speed cannot come from the channel chosen.
        """
        self._draft = draft
        self.ways["kept"].setVisible(bool(kept_words))
        self.kept.setText(kept_words)
        self.kept.setVisible(bool(kept_words))
        self.ways["kept"].setAccessibleDescription(kept_words)
        steady = self.ways["steady"]
        is_steady = condition is not None and condition.manoeuvre == "steady"
        has_speed = condition is not None and bool(condition.speed_km_h)
        steady.setVisible((is_steady and has_speed) or draft.kind == "steady")
        if condition is not None and has_speed:
            steady.setText(f"Steady at {condition.speed_km_h:g} km/h, as planned")
        else:
            steady.setText("Steady, as planned")
        self.ways[draft.kind].setChecked(True)
        for field in (self.channel, self.pulse_channel):
            with QSignalBlocker(field):
                field.setRange(0, max(channels, draft.channel))
                field.setValue(draft.channel)
        for number, value in (
            (self.scale, draft.km_h_per_unit),
            (self.pulses, draft.pulses_per_metre),
            (self.offset, draft.offset_s),
        ):
            with QSignalBlocker(number):
                number.setValue(value)
        self.file.show_words("choose a file" if draft.path is None else draft.path.name)
        self._file_row.setVisible(draft.kind == "file")
        self._channel_row.setVisible(draft.kind == "channel")
        self._pulse_row.setVisible(draft.kind == "pulses")
        self.problem.setText(f"{problem[:1].upper()}{problem[1:]}." if problem else "")
        self.problem.setVisible(draft.kind in ("channel", "pulses"))

    def _build(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        self._file_row = FlowRow(self.file, self.offset, gap_px=8, indent_px=28)
        self._channel_row = FlowRow(
            QLabel("Channel"), self.channel, self.scale, gap_px=8, indent_px=28
        )
        self._pulse_row = FlowRow(
            QLabel("Channel"), self.pulse_channel, self.pulses, gap_px=8, indent_px=28
        )
        rows: dict[SpeedKind, QWidget] = {
            "kept": self.kept,
            "file": self._file_row,
            "channel": self._channel_row,
            "pulses": self._pulse_row,
        }
        for kind, way in self.ways.items():
            self._group.addButton(way)
            column.addWidget(way)
            if kind in rows:
                column.addWidget(rows[kind])
        column.addWidget(self.problem)

    def _connect(self) -> None:
        for kind, way in self.ways.items():
            way.clicked.connect(lambda _on=False, kind=kind: self._say(kind=kind))
        self.file.clicked.connect(self._ask)
        self.offset.valueChanged.connect(lambda value: self._say(offset_s=value))
        for field in (self.channel, self.pulse_channel):
            field.valueChanged.connect(lambda _value, field=field: self._say(channel=field.value()))
        self.pulses.valueChanged.connect(lambda value: self._say(pulses_per_metre=value))
        self.scale.valueChanged.connect(lambda value: self._say(km_h_per_unit=value))

    def _ask(self) -> None:
        purpose = FilePurpose("Choose the speed file", "speed", "*")
        path = self._ask_path(self, purpose)
        if path is not None:
            self._say(path=path)

    def _say(self, **changes: object) -> None:
        self._draft = replace(self._draft, **changes)  # type: ignore[arg-type]  # names of fields
        self.changed.emit(self._draft)


def _channel_field(name: str) -> WholeNumberField:
    field = WholeNumberField(name, 0, nothing="which?")
    field.setMinimumWidth(110)
    return field
