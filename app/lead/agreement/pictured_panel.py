"""A question about scores whose plot can be taken along: picture, drawing, table, legend."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QPainter
from PySide6.QtWidgets import QLabel, QWidget

from app.lead.agreement.plot_axis import UnitAxis, draw_dot
from app.lead.agreement.presenter import AgreementPresenter
from app.parts.file_asking import AskPath
from app.parts.fonts import font
from app.parts.headings import QuestionPanel, SoftLine
from app.parts.picture import LegendKey, Picture
from app.parts.saving import Exporter, SaveRow, Table
from app.parts.theme import current_theme
from ratings.findings.agreement_matrix import mark
from ratings.reports.colours import deviation_tint
from ratings.reports.figure_words import figure
from ratings.study.wording import counted

if TYPE_CHECKING:
    from ratings.findings.agreement import AttributeAgreement


class PicturedPanel(QuestionPanel):
    """A panel gives `said`, `plot_copy`, `picture_keys` and `table`."""

    def __init__(self, presenter: AgreementPresenter) -> None:
        super().__init__("")
        self.presenter = presenter
        self.caption: QLabel = SoftLine("", self)
        self.caption.setFont(font("small"))

    def offer_saving(self, exporter: Exporter, ask_path: AskPath) -> None:
        """Add the buttons that save; called once, when the panel is built."""
        self.saving = SaveRow(exporter, ask_path, self.picture, self.table, self._file_words)
        self.body.addWidget(self.saving)

    def said(self) -> str:
        """Say what the plot shows; given by each panel."""
        raise NotImplementedError

    def plot_copy(self) -> QWidget:
        """Return the plot anew in the theme in force; given by each panel."""
        raise NotImplementedError

    def picture_keys(self) -> Sequence[LegendKey]:
        """Return the legend; given by each panel."""
        raise NotImplementedError

    def picture_caption(self) -> str:
        """Say what the figures stand on; as on the page, unless that points at its neighbours."""
        return self.caption.text()

    def table(self) -> Table:
        """Return what is shown with a heading row; given by each panel."""
        raise NotImplementedError

    def picture(self) -> Picture:
        """Return what is shown as a picture for a report, in the theme in force."""
        presenter = self.presenter
        return Picture(
            title=self.accessibleName(),
            sentence=self.said(),
            facts=[presenter.condition_words(), self._size_words()],
            keys=self.picture_keys(),
            caption=self.picture_caption(),
            source=presenter.study.facts.cover_words,
            plot=self.plot_copy(),
        )

    def shown_blocks(self) -> Sequence[AttributeAgreement]:
        """Return the attributes in the plot: the chosen one, unless a panel shows more."""
        chosen = self.presenter.chosen
        return () if chosen is None else (chosen,)

    def _size_words(self) -> str:
        blocks = self.shown_blocks()
        people = {code for block in blocks for code in block.evaluators}
        sets = {code for block in blocks for code in block.sets}
        return f"{counted(len(people), 'evaluator')}, {counted(len(sets), 'set')}"

    def _file_words(self) -> str:
        question = self.accessibleName().partition("?")[0]
        return f"{self.presenter.condition_words()}, {question}"


def dot_keys(filled: str, open_: str = "") -> list[LegendKey]:
    """Return what dots on a unit axis mean, with their intervals."""

    def key(words: str, *, is_filled: bool) -> LegendKey:
        def draw(painter: QPainter, middle: QPointF) -> None:
            axis = UnitAxis(middle.x() - 18, middle.x() + 18)
            draw_dot(painter, axis, middle.y(), (0.5, 0.1, 0.9), is_filled=is_filled)

        return LegendKey(words, draw)

    return [key(filled, is_filled=True), *([key(open_, is_filled=False)] if open_ else [])]


def swatch_key(words: str, colour: str) -> LegendKey:
    """Return what a shade means."""

    def draw(painter: QPainter, middle: QPointF) -> None:
        half = QPointF(14, 9)
        painter.setPen(QColor(current_theme().tick))
        painter.setBrush(QColor(colour))
        painter.drawRect(QRectF(middle - half, middle + half))

    return LegendKey(words, draw)


def deviation_keys() -> list[LegendKey]:
    """Return what the two tints of the map of deviations mean."""
    theme, keys = current_theme(), []
    for words, points in (("scores it higher", 1.0), ("scores it lower", -1.0)):
        keys.append(swatch_key(words, deviation_tint(points, theme)))
    return keys


def order_table(blocks: Sequence[AttributeAgreement], name: Callable[[str], str]) -> Table:
    """Return W of every attribute with all that is marked or said of it."""
    head = [
        "attribute", "condition", "W", "95 % low", "95 % high", "evaluators", "sets",
        "p adjusted (Holm)", "chance explains W below", "above chance", "mark", "agreement",
        "in words", "notes",
    ]  # fmt: skip
    marks = {True: "yes", False: "no", None: "cannot be told"}
    return [
        head,
        *(
            [
                name(block.attribute),
                block.condition or "all conditions",
                *(_number(value) for value in _w_figures(block)),
                str(block.kendall.evaluators),
                str(block.kendall.sets),
                _number(block.p_holm, 4),
                _number(block.chance_w),
                marks[block.agrees],
                mark(block),
                block.degree,
                block.sentence,
                " ".join(block.notes),
            ]
            for block in blocks
        ),
    ]


def deviation_table(
    block: AttributeAgreement, flagged: Sequence[str], *, is_level_free: bool
) -> Table:
    """Return the deviations of every evaluator, a column for each set."""
    values = block.level_free_deviations if is_level_free else block.deviations
    rows = zip(block.evaluators, values.tolist(), strict=True)
    return [
        ["evaluator", *block.sets, "flagged"],
        *(
            [code, *(_number(value) for value in row), "yes" if code in flagged else "no"]
            for code, row in rows
        ),
    ]


def _w_figures(block: AttributeAgreement) -> tuple[float | None, float | None, float | None]:
    return block.kendall.w, block.kendall.lower, block.kendall.upper


def _number(value: float | None, decimals: int = 3) -> str:
    return "" if value is None or value != value else figure(value, decimals)
