"""How the level of a file is known: its own unit, a factor, a calibrator's tone, or not."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtWidgets import (
    QButtonGroup,
    QRadioButton,
    QVBoxLayout,
    QWidget,
)

from app.parts.buttons import FileButton
from app.parts.fields import Choice, NumberField
from app.parts.file_asking import AskPath, FilePurpose
from app.parts.headings import SoftLine
from ratings.intake.run_draft import TONES_DB, CalibrationDraft, CalibrationKind

_HIGHEST_PA = 100_000.0


class CalibrationFields(QWidget):
    """Ways, one of them chosen.

    Signals
    -------
    changed(CalibrationDraft)
    """

    changed = Signal(object)  # CalibrationDraft

    def __init__(self, ask_path: AskPath, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._ask_path = ask_path
        self._draft = CalibrationDraft()
        self._group = QButtonGroup(self)
        self.ways: dict[CalibrationKind, QRadioButton] = {
            "kept": QRadioButton("Keep current"),
            "own": QRadioButton("The file is in pascal"),
            "factor": QRadioButton("Pascal per full scale"),
            "tones": QRadioButton("Tone of a calibrator"),
            "unknown": QRadioButton("Not calibrated"),
        }
        self.factor = NumberField(
            "pascal per full scale",
            *(0.0, _HIGHEST_PA),
            decimals=4,
            unit="Pa",
            nothing="not given",
        )
        self.kept = kept_line()
        self.before = FileButton()
        self.after = FileButton()
        self.tone_db = Choice(
            "level of the tone", {f"{level_db:g} dB": level_db for level_db in TONES_DB}
        )
        self._advice = SoftLine(
            "A file of the tone before the runs; one after them shows that it held."
        )
        self._build()
        self._connect()

    def show_draft(
        self, draft: CalibrationDraft, *, has_own_unit: bool, kept_words: str = ""
    ) -> None:
        """Show what was said; `kept_words` tell what was said before, of a run."""
        self._draft = draft
        self.ways["kept"].setVisible(bool(kept_words))
        self.kept.setText(kept_words)
        self.kept.setVisible(bool(kept_words))
        self.ways["kept"].setAccessibleDescription(kept_words)
        self.ways["own"].setVisible(has_own_unit)
        self.ways[draft.kind].setChecked(True)
        with QSignalBlocker(self.factor):
            if self.factor.value() != draft.pa_per_full_scale:
                self.factor.setValue(draft.pa_per_full_scale)
        self.factor.setVisible(draft.kind == "factor")
        self._tones.setVisible(draft.kind == "tones")
        self.before.show_words(_file_words("Before", draft.tone_before))
        self.after.show_words(_file_words("After", draft.tone_after))
        self.tone_db.setCurrentIndex(self.tone_db.findData(draft.tone_db))

    def _build(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        for kind, way in self.ways.items():
            self._group.addButton(way)
            column.addWidget(way)
            if kind == "kept":
                column.addWidget(self.kept)
            elif kind == "factor":
                column.addWidget(self.factor)
            elif kind == "tones":
                column.addWidget(self._build_tones())

    def _build_tones(self) -> QWidget:
        self._tones = QWidget()
        column = QVBoxLayout(self._tones)
        column.setContentsMargins(28, 0, 0, 4)
        column.setSpacing(4)
        # Names of files are long: one below the other.
        for widget in (self.before, self.after, self.tone_db, self._advice):
            column.addWidget(widget)
        return self._tones

    def _connect(self) -> None:
        for kind, way in self.ways.items():
            way.clicked.connect(lambda _on=False, kind=kind: self._say(kind=kind))
        self.factor.valueChanged.connect(lambda value: self._say(pa_per_full_scale=value))
        self.tone_db.activated.connect(
            lambda place: self._say(tone_db=self.tone_db.itemData(place))
        )
        self.before.clicked.connect(lambda: self._ask("tone_before"))
        self.after.clicked.connect(lambda: self._ask("tone_after"))

    def _ask(self, which: str) -> None:
        folder = self._draft.tone_before.parent if self._draft.tone_before else None
        purpose = FilePurpose("Choose the tone", "recording", "*", folder=folder)
        path = self._ask_path(self, purpose)
        if path is not None:
            self._say(**{which: path})

    def _say(self, **changes: object) -> None:
        self._draft = replace(self._draft, **changes)  # type: ignore[arg-type]  # names of fields
        self.changed.emit(self._draft)


def kept_line() -> SoftLine:
    """Return the line below "Keep current" that says what that is, however long it is."""
    line = SoftLine()
    line.setContentsMargins(40, 0, 0, 4)
    return line


def _file_words(which: str, path: Path | None) -> str:
    return f"{which}: {path.name}" if path is not None else f"{which}: choose a file"
