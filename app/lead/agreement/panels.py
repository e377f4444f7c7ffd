"""The questions about scores on the agreement page, each with its answer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QCheckBox, QLabel, QWidget

from app.lead.agreement.concordance_plot import ConcordancePlot, ConcordanceRow
from app.lead.agreement.deviation_map import DeviationMap
from app.lead.agreement.fitness_table import FitnessTable
from app.lead.agreement.icc_plot import IccPlot, IccRow
from app.lead.agreement.presenter import AgreementPresenter
from app.parts.fonts import font
from app.parts.headings import PlainLine, QuestionPanel, SoftLine
from app.parts.layouts import Air, Stretched, in_column, in_row
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

if TYPE_CHECKING:
    from ratings.findings.agreement import AttributeAgreement
    from ratings.statistics.agreement.icc import IntraclassCorrelation


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


class OrderPanel(QuestionPanel):
    """Kendall's W of every attribute; here one of them is chosen."""

    def __init__(self, presenter: AgreementPresenter) -> None:
        super().__init__("")
        self.set_question("Do they rank the sets alike? Kendall's W, 95 % interval")
        self._presenter = presenter
        self.plot = ConcordancePlot()
        self.sentence = PlainLine(parent=self)
        self.notes = caption(self)
        self.caption = caption(self)
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
        chosen, blocks = self._presenter.chosen, self._presenter.blocks
        self.plot.show_rows(
            [self._row(block) for block in blocks], "" if chosen is None else chosen.attribute
        )
        self.caption.setText(
            f"{threshold_words(blocks)} Filled: above chance (adjusted p at most 0.05); open: not."
        )
        if chosen is None:
            return
        name = self._presenter.attribute_name(chosen.attribute)
        self.sentence.setText(f"{name}: {chosen.sentence}")
        self.notes.setText(" ".join(chosen.notes))
        self.notes.setVisible(bool(chosen.notes))

    def _row(self, block: AttributeAgreement) -> ConcordanceRow:
        kendall = block.kendall
        name = self._presenter.attribute_name(block.attribute)
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


class ApartPanel(QuestionPanel):
    """Deviations of the chosen attribute, with or without each evaluator's mean."""

    def __init__(self, presenter: AgreementPresenter) -> None:
        super().__init__("")
        self._presenter = presenter
        self.map = DeviationMap()
        self.switch = QCheckBox("Subtract each evaluator's mean")
        # Its box lines up with the heading above.
        self.switch.setStyleSheet("QCheckBox { padding-left: 0; }")
        self.switch.toggled.connect(presenter.set_level_free)
        self.caption = caption(self)
        self.body.addWidget(self.switch)
        self.body.addWidget(self.map, 1)
        self.body.addWidget(self.caption)

    def least_width(self) -> int:
        """Return how narrow the panel may become, in pixels."""
        return _with_margins(self, self.map)

    def show_results(self) -> None:
        """Show the presenter's choice."""
        block = self._presenter.chosen
        if block is None:
            return
        name = self._presenter.attribute_name(block.attribute).lower()
        self.set_question(f"Who stands apart? Deviation from the panel, {name}")
        is_level_free = self._presenter.is_level_free
        self.switch.setChecked(is_level_free)
        values = block.level_free_deviations if is_level_free else block.deviations
        flagged = flagged_evaluators(block)
        self.map.show_map(block.evaluators, block.sets, values, flagged)
        words = "Score points; + scores it higher than the panel's mean (less to hear), − lower."
        if flagged:
            words += " " + "!: see how consistent they are, below."
        self.caption.setText(words)


class NumbersPanel(QuestionPanel):
    """ICC of the chosen attribute."""

    def __init__(self, presenter: AgreementPresenter) -> None:
        super().__init__("")
        self._presenter = presenter
        self.plot = IccPlot()
        self.sentence = PlainLine(parent=self)
        self.caption = caption(self)
        words = in_column(self.sentence, self.caption, Air(share=1))
        self.body.addLayout(in_row(Stretched(self.plot, 14), Stretched(words, 7), gap_px=32))

    def show_results(self) -> None:
        """Show the presenter's choice."""
        block = self._presenter.chosen
        if block is None:
            return
        name = self._presenter.attribute_name(block.attribute).lower()
        self.set_question(f"Do they give the same numbers? ICC, {name}")
        forms = (
            ("one evaluator, ICC(A,1)", block.icc.form("ICC(A,1)")),
            (
                f"mean of {block.icc.evaluators}, ICC(A,k)",
                block.icc.form("ICC(A,k)"),
            ),
        )
        rows = [row for name, form in forms if (row := _icc_row(name, form)) is not None]
        self.plot.setVisible(bool(rows))
        self.plot.show_rows(rows)
        self.sentence.setText(icc_sentence(block.icc))
        self.caption.setText(
            f"{block.icc.evaluators} evaluators × {block.icc.sets} sets, 95 % "
            "interval. Poor, moderate, good, excellent: Koo and Li 2016."
        )


def _icc_row(name: str, form: IntraclassCorrelation) -> IccRow | None:
    if form.value is None:
        return None
    between = interval(form.lower, form.upper)
    words = f"{figure(form.value)}  ({between})" if between else figure(form.value)
    return IccRow(name, form.value, form.lower, form.upper, words)


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
