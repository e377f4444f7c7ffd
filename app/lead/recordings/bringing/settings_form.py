"""The settings of a run: its channels, calibration, speed, and how it was driven."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QLabel, QVBoxLayout, QWidget

from app.lead.calibration_fields import CalibrationFields
from app.lead.recordings.bringing.note import NoteFields
from app.lead.recordings.bringing.speed import SpeedFields
from app.parts.fields import Choice, NumberField
from app.parts.file_asking import AskPath
from app.parts.fonts import font
from app.parts.layouts import clear_layout
from ratings.intake.run_draft import (
    FileDraft,
    speed_channel_problem,
    with_role,
    with_speed,
)
from ratings.study.figures import ROLES

if TYPE_CHECKING:
    from ratings.recordings.read import SoundFacts
    from ratings.study.sets import Condition

#: More than these are not described by hand.
_MOST_CHANNELS = 32


class SettingsForm(QWidget):
    """Shows a draft, and says what it becomes.

    Signals
    -------
    changed(FileDraft)
    """

    changed = Signal(object)  # FileDraft

    def __init__(self, ask_path: AskPath, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._draft: FileDraft | None = None
        self._shown: Path | None = None
        self.roles: list[Choice] = []
        self._roles_grid = QGridLayout()
        self.calibration = CalibrationFields(ask_path)
        self.speed = SpeedFields(ask_path)
        self.note = NoteFields()
        self._build()
        self._connect()

    def show_draft(
        self,
        draft: FileDraft,
        facts: SoundFacts | None,
        condition: Condition | None,
        kept_words: tuple[str, str] = ("", ""),
    ) -> None:
        """Show a draft; fields that say the same already are left alone.

        Parameters
        ----------
        facts
            None while the file is being read, and for runs, of which the draft says enough.
        kept_words
            What was said before of calibration and speed, of a run.
        """
        self._draft = draft
        if draft.path != self._shown:
            for field in self.findChildren(NumberField):
                field.reset()
        self._show_roles(draft, () if facts is None else facts.channel_names)
        has_own = facts is not None and any(each is not None for each in facts.pa_per_full_scale)
        self.calibration.show_draft(
            draft.calibration, has_own_unit=has_own, kept_words=kept_words[0]
        )
        channels = max(len(draft.roles), 1)
        problem = speed_channel_problem(draft, facts)
        self.speed.show_draft(draft.speed, condition, channels, kept_words[1], problem)
        self.note.show_note(draft.note, is_other_file=draft.path != self._shown)
        self._shown = draft.path

    def _build(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        column.addWidget(form_heading("What is on the channels?"))
        self._roles_grid.setHorizontalSpacing(12)
        self._roles_grid.setVerticalSpacing(6)
        self._roles_grid.setColumnStretch(1, 1)
        column.addLayout(self._roles_grid)
        column.addWidget(form_heading("Calibration"))
        column.addWidget(self.calibration)
        column.addWidget(form_heading("Speed"))
        column.addWidget(self.speed)
        column.addWidget(form_heading("How was it driven? What was not measured stays empty."))
        column.addWidget(self.note)

    def _connect(self) -> None:
        self.calibration.changed.connect(
            lambda calibration: self._change(lambda d: replace(d, calibration=calibration))
        )
        self.speed.changed.connect(lambda speed: self._change(lambda d: with_speed(d, speed)))
        self.note.changed.connect(lambda note: self._change(lambda d: replace(d, note=note)))

    def _change(self, how: Callable[[FileDraft], FileDraft]) -> None:
        if self._draft is not None:
            self.changed.emit(how(self._draft))

    def _show_roles(self, draft: FileDraft, names: tuple[str, ...]) -> None:
        count = min(len(draft.roles), _MOST_CHANNELS)
        if count != len(self.roles) or draft.path != self._shown:
            self._rebuild_roles(count, names)
        for combo, role in zip(self.roles, draft.roles, strict=False):
            combo.setCurrentIndex(combo.findData(role))

    def _rebuild_roles(self, count: int, names: tuple[str, ...]) -> None:
        clear_layout(self._roles_grid)
        self.roles = []
        for channel in range(count):
            combo = Choice(
                f"what channel {channel + 1} is",
                {role: role for role in ROLES},
                least_letters=10,
            )
            combo.activated.connect(lambda _place, at=channel: self._change_role(at))
            name = names[channel] if channel < len(names) else ""
            label = QLabel(f"{channel + 1}  {name}".rstrip())
            label.setTextFormat(Qt.TextFormat.PlainText)
            self._roles_grid.addWidget(label, channel, 0)
            self._roles_grid.addWidget(combo, channel, 1)
            self.roles.append(combo)
        self._order_stops()

    def _order_stops(self) -> None:
        # Made when a file is known, they would come after all that stands below them.
        first: QWidget = next(iter(self.calibration.ways.values()))
        before = first.previousInFocusChain()
        while before is not None and before is not first and not self._leads_here(before):
            before = before.previousInFocusChain()
        for role in self.roles:
            if before is not None:
                QWidget.setTabOrder(before, role)
            before = role

    def _leads_here(self, widget: QWidget) -> bool:
        """Whether Tab stops at a widget that is no channel's, neither of this file nor before."""
        is_stop = bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus)
        return is_stop and not widget.isHidden() and widget not in self.roles

    def _change_role(self, channel: int) -> None:
        role = self.roles[channel].currentData()
        self._change(lambda draft: with_role(draft, channel, role))


def form_heading(words: str) -> QLabel:
    """Return the heading of a part of a form."""
    label = QLabel(words)
    label.setFont(font("strong"))
    label.setWordWrap(True)
    label.setContentsMargins(0, 12, 0, 0)
    return label
