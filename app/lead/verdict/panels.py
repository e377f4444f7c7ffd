"""The panels of the verdict page, each with the question that it answers."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QVBoxLayout, QWidget

from app.lead.verdict.drift_plot import DriftPlot
from app.lead.verdict.ear_plot import EarPlot
from app.lead.verdict.pictures import Pictures, ear_data
from app.lead.verdict.presenter import Shown, VerdictPresenter
from app.lead.verdict.settling import Settling
from app.lead.verdict.table import VerdictTable
from app.lead.verdict.table_painting import LEGEND
from app.parts.buttons import QuietButton
from app.parts.fields import Choice, WholeNumberField
from app.parts.file_asking import AskPath
from app.parts.fonts import font
from app.parts.headings import PlainLine, QuestionPanel, SoftLine, plain_label
from app.parts.layouts import Air, Aligned, Stretched, clear_layout, in_column, in_row
from app.parts.named_table import NamedTable, NamedTableModel
from app.parts.saving import Exporter, SaveRow
from ratings.reports.verdict_lines import ALL_CONDITIONS
from ratings.study.wording import counted

_MOST_CAUTIONS = 4
_TITLE_PX = 116
#: A caution that is longer may be cut off.
_LONG_LETTERS = 80
_MOST_EVALUATORS = 999


def small_line(parent: QWidget) -> SoftLine:
    """Return a line in small soft type for what a figure stands on."""
    line = SoftLine("", parent)
    line.setFont(font("small"))
    return line


def fill_choice(choice: Choice, words: dict[str, object], current: object) -> None:
    """Offer these, and show the one that holds."""
    if [choice.itemText(n) for n in range(choice.count())] != list(words):
        choice.clear()
        for text, meaning in words.items():
            choice.addItem(text, meaning)
        view = choice.view()
        view.setMinimumWidth(view.sizeHintForColumn(0) + 32)
    values = list(words.values())
    choice.setCurrentIndex(values.index(current) if current in values else -1)


class CautionPanel(QFrame):
    """What is to be known before any finding; the first few, the others on request."""

    def __init__(self, presenter: VerdictPresenter, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._presenter = presenter
        self._is_open = False
        self.setProperty("look", "note")
        self.setAccessibleName("before you read on")
        self._told: tuple[str, ...] = ()
        self._shown: tuple[tuple[str, ...], bool] | None = None
        self._column = QVBoxLayout()
        self._column.setSpacing(2)
        self.more = QuietButton("")
        self.more.clicked.connect(self._turn)
        title = plain_label("Know first", "strong")
        title.setFixedWidth(_TITLE_PX)
        top = Qt.AlignmentFlag.AlignTop
        in_row(
            Aligned(title, top),
            Stretched(in_column(self._column, Air(share=1))),
            Aligned(self.more, top),
            of=self,
            gap_px=12,
            margins_px=(16, 8, 12, 8),
        )

    @property
    def has_words(self) -> bool:
        """Whether there is anything to know."""
        return bool(self._told)

    def show_results(self) -> None:
        """Show the cautions."""
        told = self._presenter.cautions()
        if (told, self._is_open) == self._shown:
            # Made anew at each look they would flicker.
            return
        self._told, self._shown = told, (told, self._is_open)
        clear_layout(self._column)
        for sentence in told if self._is_open else told[:_MOST_CAUTIONS]:
            line = PlainLine(f"! {sentence}", parent=self)
            if not self._is_open:
                line.hold_lines(1)
            self._column.addWidget(line)
        hidden = len(told) - _MOST_CAUTIONS
        words = "show less" if self._is_open else f"{hidden} more" if hidden > 0 else "show whole"
        self.more.setVisible(hidden > 0 or any(len(each) > _LONG_LETTERS for each in told))
        self.more.setText(words)
        self.more.setAccessibleName(words)
        self.more.updateGeometry()

    def _turn(self) -> None:
        self._is_open = not self._is_open
        self.show_results()


class EnoughPanel(QFrame):
    """Whether more evaluators are wanted, with the plan to change in place."""

    def __init__(
        self, presenter: VerdictPresenter, settling: Settling, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._presenter, self._settling = presenter, settling
        self.setProperty("look", "note")
        self.setAccessibleName("is it enough?")
        self._headline = PlainLine("", "body", self)
        self._notes = small_line(self)
        self._notes.hold_lines(2)
        self.planned = WholeNumberField(
            "planned evaluators", 0, _MOST_EVALUATORS, nothing="no plan"
        )
        self.planned.setFixedWidth(112)
        self.planned.valueChanged.connect(lambda _value: self._settle())
        title = plain_label("Is it enough?", "strong")
        title.setFixedWidth(_TITLE_PX)
        in_row(
            Aligned(title, Qt.AlignmentFlag.AlignTop),
            Stretched(in_column(self._headline, self._notes, Air(share=1), gap_px=2)),
            in_row(plain_label("planned evaluators", "small", "soft"), self.planned, gap_px=8),
            of=self,
            gap_px=12,
            margins_px=(16, 6, 12, 6),
        )
        self._is_showing = False

    @property
    def has_words(self) -> bool:
        """Whether there is anything to say: there always is."""
        return True

    def show_results(self) -> None:
        """Show what holds now."""
        headline, notes = self._presenter.enough_words()
        self._headline.setText(headline)
        self._notes.setText(notes)
        self._notes.setVisible(bool(notes))
        self._is_showing = True
        self.planned.setValue(self._settling.settings.planned_evaluators or 0)
        self.planned.setEnabled(self._settling.can_change)
        self._is_showing = False

    def _settle(self) -> None:
        if not self._is_showing:
            self._settling.set_planned(self.planned.value())


class TablePanel(QuestionPanel):
    """Every set beside the control, attribute by attribute."""

    def __init__(self, presenter: VerdictPresenter) -> None:
        self.shown = Choice("rows to show", least_letters=14)
        self.conditions = Choice("condition", least_letters=15)
        beside = QWidget()
        in_row(self.shown, self.conditions, of=beside, gap_px=8)
        super().__init__("Which set differs, where, by how much, how sure?", beside=beside)
        self._presenter = presenter
        self.table = VerdictTable()
        self.caption = small_line(self)
        self.body.addWidget(self.table)
        self.body.addWidget(self.caption)
        self.shown.activated.connect(self._choose_shown)
        self.conditions.activated.connect(
            lambda place: presenter.choose_condition(self.conditions.itemData(place))
        )
        self.table.line_chosen.connect(presenter.choose_line)

    def offer_saving(self, exporter: Exporter, ask_path: AskPath) -> None:
        """Add the buttons that save the table."""
        pictures = Pictures(self._presenter)
        self.saving = SaveRow(
            exporter, ask_path, pictures.table, self._presenter.table, lambda: "verdict"
        )
        self.body.addLayout(in_row(self.saving, Air(share=1)))

    def show_results(self) -> None:
        """Show the rows that are chosen."""
        presenter = self._presenter
        fill_choice(self.shown, dict(presenter.ways_to_show()), presenter.shown)
        titles = presenter.conditions
        fill_choice(
            self.conditions,
            {ALL_CONDITIONS: None, **{title: title for title in titles}},
            presenter.condition if presenter.condition in titles else None,
        )
        self.conditions.setEnabled(bool(titles))
        self.table.show_groups(
            presenter.groups(),
            presenter.chosen,
            presenter.matters,
            presenter.reach,
            presenter.table_text(),
        )
        self.caption.setText(
            f"95 % intervals. Shaded: within {presenter.matters:g} points, too small to matter. "
            f"n: evaluators who rated both. {LEGEND} Up, Down: another row; Ctrl+C copies."
        )

    def _choose_shown(self, place: int) -> None:
        shown = self.shown.itemData(place)
        if isinstance(shown, Shown):
            self._presenter.choose_shown(shown)


class MatrixPanel(QuestionPanel):
    """The words of one set in every attribute and condition at once."""

    def __init__(self, presenter: VerdictPresenter) -> None:
        self.sets = Choice("set", least_letters=10)
        super().__init__("Where does this set differ? Every condition", beside=self.sets)
        self._presenter = presenter
        self.model = NamedTableModel()
        self.table = NamedTable(self.model, "words in every condition", 10)
        self.sentence = PlainLine(parent=self)
        self.sets.activated.connect(
            lambda place: presenter.choose_set(str(self.sets.itemData(place)))
        )
        self.body.addWidget(self.sentence)
        self.body.addWidget(self.table)
        self.table.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)

    def show_results(self) -> None:
        """Show the set that is looked at."""
        name, heads, rows = self._presenter.matrix()
        chosen = self._presenter.chosen
        fill_choice(
            self.sets,
            dict(self._presenter.sets_to_choose()),
            None if chosen is None else chosen[0],
        )
        self.sentence.setText(self._presenter.set_sentence())
        self.model.show_rows([heads[0] if heads else "", *heads[1:]], rows)
        self.table.setAccessibleName(f"words for set {name} in every condition")
        header = self.table.horizontalHeader()
        high = sum(self.table.rowHeight(row) for row in range(self.model.rowCount()))
        self.table.setFixedHeight(high + header.sizeHint().height() + 22)


class EarPanel(QuestionPanel):
    """How the scores follow the figure that is named for an attribute."""

    def __init__(self, presenter: VerdictPresenter) -> None:
        self.attributes = Choice("attribute beside its figure", least_letters=13)
        super().__init__("How many points per decibel?", beside=self.attributes)
        self._presenter = presenter
        self.attributes.activated.connect(presenter.choose_ear)
        self.plot = EarPlot()
        self.sentence = PlainLine(parent=self)
        self.caption = small_line(self)
        self.body.addWidget(self.sentence)
        self.body.addWidget(self.plot, 1)
        self.body.addWidget(self.caption)

    def offer_saving(self, exporter: Exporter, ask_path: AskPath) -> None:
        """Add the buttons that save the plot."""
        pictures = Pictures(self._presenter)
        self.saving = SaveRow(
            exporter, ask_path, pictures.ear, pictures.ear_table, lambda: "points per decibel"
        )
        self.body.addLayout(in_row(self.saving, Air(share=1)))

    def show_results(self) -> None:
        """Show the attribute that is looked at."""
        ear, ears = self._presenter.ear, self._presenter.ears
        for part in (self.attributes, self.plot, self.caption, self.saving):
            part.setVisible(ear is not None)
        if ear is None:
            self.sentence.setText(
                "Nothing to hold the scores against yet: it takes two sets that are measured and "
                "rated, and a figure named for the attribute. Next step: measure the runs under "
                "Recordings, or name a figure below."
            )
            return
        names = [each.name for each in ears]
        fill_choice(
            self.attributes, {name: n for n, name in enumerate(names)}, names.index(ear.name)
        )
        self.sentence.setText(ear.sentence)
        self.plot.show_data(ear_data(self._presenter))
        self.caption.setText(
            f"{counted(ear.found.sets, 'set')}, means over evaluators and conditions; open: the "
            "control. Shaded: 95 % interval of the slope. A fit within one panel, no law."
        )


class DriftPanel(QuestionPanel):
    """Whether the control stayed what it was."""

    def __init__(self, presenter: VerdictPresenter) -> None:
        self.where = Choice("where the control was met", least_letters=17)
        super().__init__("Was the control steady?", beside=self.where)
        self._presenter = presenter
        self.where.activated.connect(presenter.choose_drift)
        self.plot = DriftPlot()
        self.sentence = PlainLine(parent=self)
        self.caption = small_line(self)
        self.model = NamedTableModel()
        self.table = NamedTable(self.model, "differences before and after the correction", 10)
        self.table.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.body.addWidget(self.sentence)
        self.body.addWidget(self.plot, 1)
        self.body.addWidget(self.caption)
        self.body.addWidget(self.table)

    def offer_saving(self, exporter: Exporter, ask_path: AskPath) -> None:
        """Add the buttons that save the plot."""
        pictures = Pictures(self._presenter)
        self.saving = SaveRow(
            exporter, ask_path, pictures.drift, pictures.drift_table, lambda: "control drift"
        )
        self.body.addLayout(in_row(self.saving, Air(share=1)))

    def show_results(self) -> None:
        """Show the finding that is looked at."""
        drift, drifts = self._presenter.drift, self._presenter.drifts
        for part in (self.where, self.plot, self.caption, self.saving):
            part.setVisible(drift is not None)
        self.table.setVisible(drift is not None and bool(drift.raw))
        if drift is None:
            self.sentence.setText(
                "The control was met once only. Its drift shows once evaluators hear it several "
                "times in a session, or it has two runs or more."
            )
            return
        words = {_drift_words(each.source, each.subject): n for n, each in enumerate(drifts)}
        fill_choice(self.where, dict(words), drifts.index(drift))
        self.sentence.setText(drift.sentence)
        self.plot.show_finding(drift)
        self.caption.setText(
            "Dots: level of the control, evaluators' own levels taken off. Dashed: slope."
            if drift.source != "measured"
            else "Dots: A-weighted level of each run of the control, mean of the driver's ears."
        )
        if drift.raw:
            rows = [
                (name, _points(raw), _points(drift.corrected.get(name, raw)))
                for name, raw in drift.raw.items()
            ]
            self.model.show_rows(("set", "raw difference", "corrected for drift"), rows)
            high = sum(self.table.rowHeight(row) for row in range(len(rows)))
            self.table.setFixedHeight(high + self.table.horizontalHeader().sizeHint().height() + 8)


def _drift_words(source: str, subject: str) -> str:
    return f"{subject}, {source}" + ("" if source == "measured" else " scores")


def _points(value: float) -> str:
    return f"{value:+.2f}".replace("-", "−")
