"""What is to be said of one file: its set, and the settings of the run that it becomes."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtWidgets import QGridLayout, QLabel, QVBoxLayout, QWidget

from app.lead.recordings.bringing.presenter import BringPresenter
from app.lead.recordings.bringing.settings_form import SettingsForm, form_heading
from app.parts.fields import Choice, WholeNumberField, text_field
from app.parts.file_asking import AskPath
from app.parts.headings import SoftLine
from ratings.study.tyre_size import MOST_PITCHES


class BringForm(QWidget):
    """Shows the file that the presenter has chosen, and passes on what is said of it."""

    def __init__(
        self, presenter: BringPresenter, ask_path: AskPath, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._presenter = presenter
        self.sets = Choice("set of the file", least_letters=10)
        self.conditions = Choice("condition of the file", least_letters=10)
        self.tyre_size = text_field("size of the set's tyres", "such as 205/55R16")
        self.pitches = WholeNumberField(
            "tread pitches around the tyre",
            0,
            MOST_PITCHES,
            nothing="not counted",
        )
        self.settings = SettingsForm(ask_path)
        self._facts = SoftLine("", self)
        self._problem = SoftLine("", self)
        self._problem.setProperty("look", "attention")
        self._fill_choices()
        self._build()
        self._connect()

    def show_chosen(self) -> None:
        """Show the chosen file; fields that say the same already are left alone."""
        presenter, draft = self._presenter, self._presenter.chosen
        self.setEnabled(draft is not None and presenter.work.state is None)
        if draft is None:
            return
        problem = presenter.problem(draft)
        self._facts.setText(presenter.facts_words(draft))
        self._problem.setText(problem)
        self._problem.setVisible(bool(problem))
        self.sets.setCurrentIndex(max(self.sets.findData(draft.set_id), 0))
        self.conditions.setCurrentIndex(max(self.conditions.findData(draft.condition_id), 0))
        self._show_tread(draft.set_id)
        self.settings.show_draft(draft, presenter.facts(draft), presenter.condition_of(draft))

    def _show_tread(self, set_id: int | None) -> None:
        tread = self._presenter.treads.get(set_id) if set_id is not None else None
        for widget in (self.tyre_size, self.pitches):
            widget.setEnabled(tread is not None)
        if not self.tyre_size.hasFocus():
            self.tyre_size.setText("" if tread is None else tread.size)
        if not self.pitches.hasFocus():
            self.pitches.setValue(0 if tread is None else tread.pitches or 0)

    def _fill_choices(self) -> None:
        self.sets.addItem("which set?", None)
        for each in self._presenter.sets:
            self.sets.addItem(each.name, each.set_id)
        self.conditions.addItem("which condition?", None)
        for condition in self._presenter.conditions:
            self.conditions.addItem(condition.title, condition.condition_id)

    def _build(self) -> None:
        tread = QGridLayout()
        tread.setHorizontalSpacing(12)
        tread.addWidget(QLabel("Tyre size"), 0, 0)
        tread.addWidget(QLabel("Tread pitches"), 0, 1)
        tread.addWidget(self.tyre_size, 1, 0)
        tread.addWidget(self.pitches, 1, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 8, 0)
        column.setSpacing(8)
        column.addWidget(self._facts)
        column.addWidget(self._problem)
        column.addWidget(form_heading("Which set, and in which condition?"))
        column.addWidget(self.sets)
        column.addLayout(tread)
        column.addWidget(self.conditions)
        column.addWidget(self.settings)
        column.addStretch(1)

    def _connect(self) -> None:
        self.sets.activated.connect(lambda _place: self._change_choice())
        self.conditions.activated.connect(lambda _place: self._change_choice())
        self.tyre_size.editingFinished.connect(self._change_tread)
        self.pitches.editingFinished.connect(self._change_tread)
        self.settings.changed.connect(self._presenter.change)

    def _change_choice(self) -> None:
        draft = self._presenter.chosen
        if draft is not None:
            self._presenter.change(
                replace(
                    draft,
                    set_id=self.sets.currentData(),
                    condition_id=self.conditions.currentData(),
                )
            )

    def _change_tread(self) -> None:
        draft = self._presenter.chosen
        if draft is not None and draft.set_id is not None:
            self._presenter.change_tread(
                draft.set_id, self.tyre_size.text().strip(), self.pitches.value() or None
            )
