"""The questions about scores on the agreement page, each with its answer."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QCheckBox, QLabel, QPushButton, QWidget

from app.lead.agreement.concordance_plot import ConcordancePlot, ConcordanceRow
from app.lead.agreement.deviation_map import DeviationMap
from app.lead.agreement.fitness_table import FitnessTable
from app.lead.agreement.icc_plot import IccPlot, IccRow
from app.lead.agreement.pictured_panel import (
    PicturedPanel,
    deviation_keys,
    deviation_table,
    dot_keys,
    order_table,
    swatch_key,
)
from app.lead.agreement.presenter import AgreementPresenter
from app.parts.fonts import font
from app.parts.headings import PlainLine, QuestionPanel, SoftLine
from app.parts.layouts import Air, Stretched, in_column, in_row
from app.parts.named_table import NamedTableModel, WholeTable
from app.parts.picture import LegendKey
from app.parts.saving import Table
from app.parts.theme import current_theme
from ratings.findings.agreement_matrix import MARKS_WORDS
from ratings.reports.figure_words import (
    FLAG_WORDS,
    SIDE_BIAS_WORDS,
    figure,
    flagged_evaluators,
    icc_sentence,
    interval,
    size_words,
    threshold_words,
    without_flagged_words,
)
from ratings.study.wording import listed

if TYPE_CHECKING:
    from ratings.findings.agreement import AttributeAgreement
    from ratings.statistics.agreement.icc import IntraclassCorrelation


_DEVIATION_WORDS = "Score points; + scores it higher than the panel's mean (less to hear), − lower."


def caption(parent: QWidget) -> QLabel:
    """Return a line in small soft type for what a figure stands on."""
    label = SoftLine("", parent)
    label.setFont(font("small"))
    return label


def _with_margins(panel: QWidget, contents: QWidget) -> int:
    # Asked of the contents: the layouts between still hold what was true before a change.
    layout = panel.layout()
    margins = panel.contentsMargins() if layout is None else layout.contentsMargins()
    return contents.minimumSizeHint().width() + margins.left() + margins.right() + 2


class OrderPanel(PicturedPanel):
    """Kendall's W of every attribute; here one of them is chosen."""

    def __init__(self, presenter: AgreementPresenter) -> None:
        super().__init__(presenter)
        self.set_question("Do they rank the sets alike? Kendall's W, 95 % interval")
        self.plot = ConcordancePlot()
        self.sentence = PlainLine(parent=self)
        self.notes = caption(self)
        self.body.addWidget(self.sentence)
        self.body.addWidget(self.notes)
        self.body.addWidget(self.plot, 1)
        self.body.addWidget(self.caption)
        self.plot.attribute_chosen.connect(presenter.choose_attribute)
        self.plot.step_asked.connect(presenter.step_attribute)

    def least_width(self) -> int:
        """Return how narrow the panel may become, in pixels."""
        return _with_margins(self, self.plot)

    def show_results(self) -> None:
        """Show the presenter's results."""
        chosen, blocks = self.presenter.chosen, self.presenter.blocks
        self._fill(self.plot, "" if chosen is None else chosen.attribute)
        self.caption.setText(
            f"{threshold_words(blocks)} Filled: above chance (adjusted p at most 0.05); open: not."
        )
        if chosen is None:
            return
        name = self.presenter.attribute_name(chosen.attribute)
        self.sentence.setText(f"{name}: {chosen.sentence}")
        self.notes.setText(" ".join(chosen.notes))
        self.notes.setVisible(bool(chosen.notes))

    def shown_blocks(self) -> Sequence[AttributeAgreement]:
        """Return all attributes."""
        return self.presenter.blocks

    def said(self) -> str:
        """Say what the panel agrees on."""
        return self.presenter.heading()

    def plot_copy(self) -> ConcordancePlot:
        """Return the plot anew, no attribute chosen."""
        made = ConcordancePlot()
        self._fill(made, "")
        return made

    def picture_keys(self) -> list[LegendKey]:
        """Say what dots and shade are."""
        shade = swatch_key("chance alone explains it", current_theme().ground)
        return [*dot_keys("above chance", "not above chance"), shade]

    def table(self) -> Table:
        """Return W of every attribute."""
        return order_table(self.presenter.blocks, self.presenter.attribute_name)

    def _fill(self, plot: ConcordancePlot, chosen_key: str) -> None:
        plot.show_rows([self._row(block) for block in self.presenter.blocks], chosen_key)

    def _row(self, block: AttributeAgreement) -> ConcordanceRow:
        kendall = block.kendall
        name = self.presenter.attribute_name(block.attribute)
        return ConcordanceRow(
            key=block.attribute,
            name=name,
            w=kendall.w,
            lower=kendall.lower,
            upper=kendall.upper,
            chance_w=block.chance_w,
            agrees=bool(block.agrees),
            figure=figure(kendall.w),
            size=size_words(kendall),
            spoken=f"{name}: {block.sentence}",
        )


class ApartPanel(PicturedPanel):
    """Deviations of the chosen attribute, with or without each evaluator's mean."""

    def __init__(self, presenter: AgreementPresenter) -> None:
        super().__init__(presenter)
        self.map = DeviationMap()
        self.switch = QCheckBox("Subtract each evaluator's mean")
        # Its box lines up with the heading above.
        self.switch.setStyleSheet("QCheckBox { padding-left: 0; }")
        self.switch.toggled.connect(presenter.set_level_free)
        self.body.addWidget(self.switch)
        self.body.addWidget(self.map, 1)
        self.body.addWidget(self.caption)

    def least_width(self) -> int:
        """Return how narrow the panel may become, in pixels."""
        return _with_margins(self, self.map)

    def show_results(self) -> None:
        """Show the presenter's choice."""
        block = self.presenter.chosen
        if block is None:
            return
        name = self.presenter.attribute_name(block.attribute).lower()
        self.set_question(f"Who stands apart? Deviation from the panel, {name}")
        self.switch.setChecked(self.presenter.is_level_free)
        self._fill(self.map, block)
        flagged = flagged_evaluators(block)
        where = " !: see how consistent they are, below." if flagged else ""
        self.caption.setText(f"{_DEVIATION_WORDS}{where}")

    def said(self) -> str:
        """Say how far the panel agrees on the attribute, and what was subtracted."""
        block = self.presenter.chosen
        if block is None:
            return ""
        name = self.presenter.attribute_name(block.attribute)
        level_free = " Each evaluator's mean is subtracted." if self.presenter.is_level_free else ""
        return f"{name}: {block.sentence}{level_free}"

    def plot_copy(self) -> DeviationMap:
        """Return the map anew."""
        made = DeviationMap()
        if self.presenter.chosen is not None:
            self._fill(made, self.presenter.chosen)
        return made

    def picture_keys(self) -> list[LegendKey]:
        """Say what the tints are."""
        return deviation_keys()

    def picture_caption(self) -> str:
        """Name those who are flagged: what is below on the page is not in a picture."""
        block = self.presenter.chosen
        flagged = () if block is None else flagged_evaluators(block)
        return f"{_DEVIATION_WORDS}{f' !: flagged ({listed(flagged)}).' if flagged else ''}"

    def table(self) -> Table:
        """Return the deviations."""
        block = self.presenter.chosen
        if block is None:
            return [[]]
        is_level_free = self.presenter.is_level_free
        return deviation_table(block, flagged_evaluators(block), is_level_free=is_level_free)

    def _fill(self, shown: DeviationMap, block: AttributeAgreement) -> None:
        is_level_free = self.presenter.is_level_free
        values = block.level_free_deviations if is_level_free else block.deviations
        shown.show_map(block.evaluators, block.sets, values, flagged_evaluators(block))


class NumbersPanel(PicturedPanel):
    """ICC of the chosen attribute."""

    def __init__(self, presenter: AgreementPresenter) -> None:
        super().__init__(presenter)
        self.plot = IccPlot()
        self.sentence = PlainLine(parent=self)
        words = in_column(self.sentence, self.caption, Air(share=1))
        self.body.addLayout(in_row(Stretched(self.plot, 14), Stretched(words, 7), gap_px=32))

    def show_results(self) -> None:
        """Show the presenter's choice."""
        block = self.presenter.chosen
        if block is None:
            return
        name = self.presenter.attribute_name(block.attribute).lower()
        self.set_question(f"Do they give the same numbers? ICC, {name}")
        rows = _icc_rows(block)
        self.plot.setVisible(bool(rows))
        self.plot.show_rows(rows)
        self.sentence.setText(icc_sentence(block.icc))
        self.caption.setText(
            f"{block.icc.evaluators} evaluators × {block.icc.sets} sets, 95 % "
            "interval. Poor, moderate, good, excellent: Koo and Li 2016."
        )

    def said(self) -> str:
        """Say what the coefficients mean."""
        return self.sentence.text()

    def plot_copy(self) -> IccPlot:
        """Return the plot anew."""
        made = IccPlot()
        made.show_rows([] if self.presenter.chosen is None else _icc_rows(self.presenter.chosen))
        return made

    def picture_keys(self) -> list[LegendKey]:
        """Say what a dot is."""
        return dot_keys("ICC with its 95 % interval")

    def table(self) -> Table:
        """Return the coefficients in words."""
        block = self.presenter.chosen
        rows = [] if block is None else _icc_rows(block)
        return [["form", "ICC and 95 % interval"], *([row.name, row.words] for row in rows)]


def _icc_rows(block: AttributeAgreement) -> list[IccRow]:
    forms = (
        ("one evaluator, ICC(A,1)", block.icc.form("ICC(A,1)")),
        (f"mean of {block.icc.evaluators}, ICC(A,k)", block.icc.form("ICC(A,k)")),
    )
    return [row for name, form in forms if (row := _icc_row(name, form)) is not None]


def _icc_row(name: str, form: IntraclassCorrelation) -> IccRow | None:
    if form.value is None:
        return None
    between = interval(form.lower, form.upper)
    words = f"{figure(form.value)}  ({between})" if between else figure(form.value)
    return IccRow(name, form.value, form.lower, form.upper, words)


class MatrixPanel(QuestionPanel):
    """Kendall's W of every attribute in every condition."""

    def __init__(self, presenter: AgreementPresenter) -> None:
        super().__init__("Does it depend on the condition? Kendall's W (evaluators × sets)")
        self._presenter = presenter
        self._cells = NamedTableModel()
        self.table = WholeTable(self._cells, "Kendall's W by attribute and condition", 8)
        self.save = QPushButton("Save this table (CSV)")
        words = caption(self)
        words.setText(
            f"{MARKS_WORDS}: p at most 0.05, adjusted for all W of single conditions; under all "
            "conditions, for the attributes. Ctrl+C in the table copies it."
        )
        self.body.addWidget(self.table)
        self.body.addLayout(in_row(Stretched(words), self.save, gap_px=16))

    def show_results(self) -> None:
        """Show the presenter's results; nothing where there is one condition."""
        matrix = self._presenter.matrix()
        self.setVisible(bool(matrix))
        if matrix:
            heads, *rows = matrix
            self._cells.show_rows([head.replace(", ", ",\n") for head in heads], rows)


class FitnessPanel(QuestionPanel):
    """Every evaluator on the chosen attribute, with what to look at."""

    def __init__(self, presenter: AgreementPresenter) -> None:
        super().__init__("")
        self._presenter = presenter
        self.table = FitnessTable()
        self.sentence = PlainLine(parent=self)
        self.caption = caption(self)
        self.caption.setText(
            f"Errors and bias in score points; {SIDE_BIAS_WORDS}; {FLAG_WORDS}. "
            "Ctrl+C in the table copies it."
        )
        self.body.addWidget(self.sentence)
        self.body.addWidget(self.table)
        self.body.addWidget(self.caption)

    def show_results(self) -> None:
        """Show the presenter's choice."""
        block = self._presenter.chosen
        if block is None:
            return
        name = self._presenter.attribute_name(block.attribute).lower()
        self.set_question(f"How consistent is each evaluator, on {name}?")
        self.sentence.setText(without_flagged_words(block))
        self.table.findings.show_findings(block.evaluators_detail)
