"""The editor of bands: name, from, to; add and take out; kept as a new version."""

from __future__ import annotations

from itertools import pairwise

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import (
    QGridLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.lead.recordings.form_page import FormPage, scrolled
from app.parts.buttons import PrimaryButton, QuietButton
from app.parts.fields import NumberField, once_read, text_field
from app.parts.headings import FindingHeading, QuestionPanel, SoftLine
from ratings.errors import MeasurementError
from ratings.study.bands import Band, BandTable, named_bands

_LOWEST_HZ, _HIGHEST_HZ = 10.0, 20_000.0


class BandsPresenter(QObject):
    """Holds the bands as they are being written; the key of a new one is empty.

    Signals
    -------
    changed()
        A band came or went.
    problem_raised(RatingsError)
    kept(tuple)
        Bands to put in force.
    """

    changed = Signal()
    problem_raised = Signal(object)  # RatingsError
    kept = Signal(object)  # tuple[Band, ...]

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.version = 0
        self.drafts: tuple[Band, ...] = ()
        self._begun: tuple[Band, ...] = ()

    def begin(self, table: BandTable) -> None:
        """Begin with the bands in force."""
        self.version = table.version
        self.drafts = self._begun = table.bands
        self.changed.emit()

    def change(self, place: int, draft: Band) -> None:
        """Put a draft in place of another; the fields show it already."""
        self.drafts = (*self.drafts[:place], draft, *self.drafts[place + 1 :])

    def add(self) -> None:
        """Add a band at the end."""
        self.drafts = (*self.drafts, Band("", "", 100.0, 200.0))
        self.changed.emit()

    def take_out(self, place: int) -> None:
        """Take a band out."""
        self.drafts = (*self.drafts[:place], *self.drafts[place + 1 :])
        self.changed.emit()

    def at_stake(self) -> str:
        """Say what would be lost; empty when nothing was changed."""
        if self.drafts == self._begun:
            return ""
        return "The bands were changed and not kept."

    def forget(self) -> None:
        """Go back to the bands as they were when it began."""
        self.drafts = self._begun

    def keep(self) -> None:
        """Ask for the bands to be put in force, when they can be."""
        try:
            bands = named_bands(self.drafts)
        except MeasurementError as problem:
            self.problem_raised.emit(problem)
            return
        self._begun = self.drafts
        self.kept.emit(bands)


class BandsEditor(FormPage):
    """One row of fields per band."""

    def __init__(self, presenter: BandsPresenter, parent: QWidget | None = None) -> None:
        super().__init__(presenter, parent)
        self.presenter = presenter
        self.heading = FindingHeading("Which bands are measured?")
        self.line = SoftLine()
        self.names: list[QWidget] = []
        self._rows = QWidget()
        self._holder = QVBoxLayout()
        self._holder.setContentsMargins(0, 0, 0, 0)
        self._holder.addWidget(self._rows)
        self._holder.addStretch(1)
        self.add = QPushButton("Add a band")
        self.back = QPushButton("Cancel")
        self.keep = PrimaryButton("Apply these bands")
        self._build()
        presenter.changed.connect(self.show_drafts)
        self.add.clicked.connect(presenter.add)
        self.back.clicked.connect(self.go_back)
        self.keep.clicked.connect(once_read(self, presenter.keep))

    def show_drafts(self) -> None:
        """Show a row for every band."""
        self.line.setText(
            "Bands may overlap; their levels are never summed. Version "
            f"{self.presenter.version} is in force; other bands become version "
            f"{self.presenter.version + 1}, and runs already measured keep theirs "
            "until they are measured again."
        )
        before, self._rows = self._rows, QWidget()
        grid = QGridLayout(self._rows)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(8)
        grid.setColumnStretch(0, 1)
        for column, words in enumerate(("Name", "From", "To")):
            grid.addWidget(QLabel(words), 0, column)
        self.names = []
        removes = [
            self._add_row(grid, place, draft) for place, draft in enumerate(self.presenter.drafts)
        ]
        self._holder.replaceWidget(before, self._rows)
        before.hide()
        before.deleteLater()
        # Tab reaches the rows, which are newer, before what stands below them.
        for one, other in pairwise((*removes[-1:], self.add, self.back, self.keep)):
            QWidget.setTabOrder(one, other)
        if self.names and not self.presenter.drafts[-1].name:
            self.names[-1].setFocus()

    def _add_row(self, grid: QGridLayout, place: int, draft: Band) -> QWidget:
        name = text_field(f"name of band {place + 1}", "name")
        name.setText(draft.name)
        low = _frequency(f"lower edge of band {place + 1}", draft.low_hz)
        high = _frequency(f"upper edge of band {place + 1}", draft.high_hz)
        out = QuietButton("Remove")
        out.setAccessibleName(f"remove band {draft.name or place + 1}")

        def say() -> None:
            changed = Band(draft.key, name.text(), low.value(), high.value())
            self.presenter.change(place, changed)

        name.textEdited.connect(say)
        low.valueChanged.connect(say)
        high.valueChanged.connect(say)
        out.clicked.connect(lambda: self.presenter.take_out(place))
        for column, widget in enumerate((name, low, high, out)):
            grid.addWidget(widget, place + 1, column)
        self.names.append(name)
        return out

    def _build(self) -> None:
        panel = QuestionPanel("From which frequency to which?")
        inside = QWidget()
        inside.setLayout(self._holder)
        panel.body.addWidget(scrolled(inside, has_frame=True), 1)
        panel.body.addWidget(self.add, 0, Qt.AlignmentFlag.AlignLeft)
        self.lay_out((self.heading, self.line), panel, (self.back, None, self.keep))


def _frequency(name: str, hz: float) -> NumberField:
    field = NumberField(name, _LOWEST_HZ, _HIGHEST_HZ, unit="Hz")
    field.setValue(hz)
    field.setMinimumWidth(120)
    return field
