"""The fields of a new study that are no grid: name, vehicle, people, calibration."""

from PySide6.QtCore import QSignalBlocker
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.lead.new_study.inputs import number_field, text_field
from app.lead.new_study.presenter import NewStudyPresenter
from app.parts.fonts import font

_MOST_EVALUATORS = 200
_HIGHEST_PA = 100_000.0


class StudyFields(QFrame):
    """One row of fields, each under its word."""

    def __init__(self, presenter: NewStudyPresenter, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("look", "panel")
        self._presenter = presenter
        self.vehicle = text_field(self.tr("Vehicle"), self.tr("the one that carries every set"))
        self.vehicle.textEdited.connect(presenter.set_vehicle)
        self.name = text_field(self.tr("Name of the study"))
        self.name.textEdited.connect(presenter.set_name)
        self.count = number_field(self.tr("Evaluators"), _MOST_EVALUATORS)
        self.count.valueChanged.connect(lambda count: presenter.set_evaluator_count(int(count)))
        self.names = text_field(self.tr("Their names"), self.tr("with commas, or empty"))
        self.names.textEdited.connect(presenter.set_evaluator_names)
        self.calibration = number_field(
            self.tr("Pascal per full scale"), _HIGHEST_PA, "Pa", self.tr("not calibrated"), 3
        )
        self.calibration.setToolTip(
            self.tr("Sound pressure of a sample of 1.0, the same recorder gain in all files")
        )
        self.calibration.valueChanged.connect(
            lambda pa_per_full_scale: presenter.set_calibration(pa_per_full_scale or None)
        )
        row = QHBoxLayout(self)
        row.setContentsMargins(20, 12, 20, 16)
        row.setSpacing(16)
        row.addLayout(self._under(self.vehicle), 5)
        row.addLayout(self._under(self.name), 5)
        row.addLayout(self._under(self.count), 2)
        row.addLayout(self._under(self.names), 4)
        row.addLayout(self._under(self.calibration), 4)
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
        self.name.setPlaceholderText(draft.vehicle.strip() or self.tr("such as vehicle and week"))
        with QSignalBlocker(self.count), QSignalBlocker(self.calibration):
            self.count.setMinimum(max(1, len(draft.evaluator_names)))
            if self.count.value() != draft.evaluator_count:
                self.count.setValue(draft.evaluator_count)
            if self.calibration.value() != (draft.pa_per_full_scale or 0.0):
                self.calibration.setValue(draft.pa_per_full_scale or 0.0)

    def _under(self, field: QWidget) -> QVBoxLayout:
        label = QLabel(field.accessibleName())
        label.setFont(font("small"))
        label.setProperty("look", "soft")
        column = QVBoxLayout()
        column.setSpacing(4)
        column.addWidget(label)
        column.addWidget(field)
        return column
