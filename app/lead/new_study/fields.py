"""The fields of a new study that are no grid: name, vehicle, people, how it was recorded."""

from dataclasses import replace

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtWidgets import QFrame, QPushButton, QVBoxLayout, QWidget

from app.lead.new_study.presenter import NewStudyPresenter
from app.parts.fields import WholeNumberField, text_field
from app.parts.headings import plain_label
from app.parts.layouts import Stretched, in_column, in_row
from app.parts.plain import plain_tooltip
from ratings.intake.known_files import says_pascal

_MOST_EVALUATORS = 200
_BUTTON_PX, _BUTTON_AIR_PX = 264, 48


class StudyFields(QFrame):
    """One row of fields, each under its word.

    Signals
    -------
    recorded_asked
        How it was recorded is to be described.
    """

    recorded_asked = Signal()

    def __init__(self, presenter: NewStudyPresenter, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("look", "panel")
        self._presenter = presenter
        self.vehicle = text_field("Vehicle", "the one that carries every set")
        self.vehicle.textEdited.connect(
            lambda text: presenter.change(replace(presenter.draft, vehicle=text))
        )
        self.name = text_field("Name of the study")
        self.name.textEdited.connect(
            lambda text: presenter.change(replace(presenter.draft, name=text))
        )
        self.count = WholeNumberField("Evaluators", 1, _MOST_EVALUATORS)
        self.count.valueChanged.connect(
            lambda: presenter.change(presenter.draft.with_evaluator_count(self.count.value()))
        )
        self.names = text_field("Their names", "with commas, or empty")
        self.names.textEdited.connect(
            lambda text: presenter.change(presenter.draft.with_evaluator_names(text))
        )
        self.recorded = QPushButton()
        self.recorded.setAccessibleName("How it was recorded")
        self.recorded.setFixedWidth(_BUTTON_PX)
        self.recorded.clicked.connect(self.recorded_asked)
        in_row(
            Stretched(_named(self.vehicle), 5),
            Stretched(_named(self.name), 5),
            Stretched(_named(self.count), 2),
            Stretched(_named(self.names), 4),
            _named(self.recorded),
            of=self,
            gap_px=16,
            margins_px=(20, 12, 20, 16),
        )
        presenter.changed.connect(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Show the draft; a field that says the same already is left alone."""
        draft = self._presenter.draft
        for field, text in (
            (self.vehicle, draft.vehicle),
            (self.name, draft.name),
            (self.names, draft.evaluator_text),
        ):
            if field.text() != text:
                field.setText(text)
        self.name.setPlaceholderText(draft.vehicle.strip() or "such as vehicle and week")
        facts = self._presenter.review.facts.values()
        words = draft.recorded.summary(says_pascal=says_pascal(facts))
        room, end = self.recorded.width() - _BUTTON_AIR_PX, Qt.TextElideMode.ElideRight
        self.recorded.setText(self.recorded.fontMetrics().elidedText(words, end, room))
        self.recorded.setAccessibleDescription(words)
        self.recorded.setToolTip(plain_tooltip(words))
        with QSignalBlocker(self.count):
            self.count.setMinimum(max(1, len(draft.evaluator_names)))
            if self.count.value() != draft.evaluator_count:
                self.count.setValue(draft.evaluator_count)


def _named(field: QWidget) -> QVBoxLayout:
    return in_column(plain_label(field.accessibleName(), "small", "soft"), field, gap_px=4)
