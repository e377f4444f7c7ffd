"""The plots of the verdict as pictures for a report, and as tables."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen

from app.lead.verdict.axes import Axis
from app.lead.verdict.drift_plot import DriftPlot
from app.lead.verdict.ear_plot import EarPlot, EarPlotData, EarPlotPoint
from app.lead.verdict.presenter import VerdictPresenter
from app.lead.verdict.table import VerdictTable
from app.lead.verdict.table_painting import draw_point
from app.parts.picture import LegendKey, Picture
from app.parts.saving import Table
from app.parts.theme import current_theme
from ratings.findings.verdict.cells import Cell, Word
from ratings.study.figures import title_of
from ratings.study.wording import counted

#: Wide enough for two lines of words in every column.
_TABLE_PX = 1060
_WORDS: tuple[tuple[str, Word, float], ...] = (
    ("better, clear", "clear", 0.6),
    ("worse, clear", "clear", -0.6),
    ("not certain", "not certain", 0.0),
    ("too small to matter", "too small to matter", 0.0),
    ("by condition", "by condition", 0.0),
)


@dataclass(frozen=True, slots=True)
class Pictures:
    """Draws anew what the presenter holds, in the theme in force."""

    presenter: VerdictPresenter

    def table(self) -> Picture:
        """Return the rows in sight."""
        presenter = self.presenter
        plot = VerdictTable()
        plot.setFixedWidth(_TABLE_PX)
        plot.resize(_TABLE_PX, 100)
        plot.show_groups(presenter.groups(), None, presenter.matters, presenter.reach)
        where = presenter.condition or "all conditions"
        return Picture(
            title="Every set beside the control",
            sentence=presenter.heading(),
            facts=[where, self._size_words()],
            keys=[_cell_key(*each) for each in _WORDS],
            caption=(
                f"{presenter.standing_line()} Shaded: within {presenter.matters:g} points. n: "
                "evaluators who rated both. Measured: mean of the driver's ears; = says the same, "
                "≠ says otherwise, ? cannot tell."
            ),
            source=presenter.study.facts.cover_words,
            plot=plot,
        )

    def ear(self) -> Picture:
        """Return the scores against the figure."""
        presenter, data = self.presenter, ear_data(self.presenter)
        plot = EarPlot()
        plot.show_data(data)
        return Picture(
            title="Scores against the measurement",
            sentence="" if data is None else data.spoken,
            facts=["mean of all conditions, mean of the driver's ears", self._size_words()],
            keys=[_dot_key("set", is_filled=True), _dot_key("control", is_filled=False)],
            caption="Line by least squares of the sets' means; shaded: its 95 % interval.",
            source=presenter.study.facts.cover_words,
            plot=plot,
        )

    def drift(self) -> Picture:
        """Return the control over time."""
        presenter, drift = self.presenter, self.presenter.drift
        plot = DriftPlot()
        plot.show_finding(drift)
        facts = []
        if drift is not None:
            is_measured = drift.source == "measured"
            what = "level, A-weighted" if is_measured else f"{drift.source} scores"
            facts = [drift.subject, what, *(["mean of the driver's ears"] if is_measured else [])]
            facts.append(f"control met {counted(drift.drift.runs, 'time')}")
        return Picture(
            title="Was the control steady?",
            sentence="" if drift is None else drift.sentence,
            facts=facts,
            keys=[_dot_key("level of the control", is_filled=True)],
            caption="Dashed: slope, where there is one. Evaluators' own levels are taken off.",
            source=presenter.study.facts.cover_words,
            plot=plot,
        )

    def ear_table(self) -> Table:
        """Return the points of the plot."""
        data = ear_data(self.presenter)
        points = () if data is None else data.points
        figure = "figure" if data is None else data.x_words
        return [
            ["set", figure, "mean score"],
            *([each.name, f"{each.figure:.3f}", f"{each.score:.3f}"] for each in points),
        ]

    def drift_table(self) -> Table:
        """Return the levels of the control, and differences before and after correction."""
        drift = self.presenter.drift
        if drift is None:
            return [["time", "level"]]
        return [
            [drift.time_unit, f"level of the control in {drift.unit}"],
            *(
                [f"{time:.3f}", f"{level:.3f}"]
                for time, level in zip(drift.time, drift.level, strict=True)
            ),
            *(
                [f"set {name}", f"raw {raw:+.3f}, corrected {drift.corrected[name]:+.3f}"]
                for name, raw in drift.raw.items()
            ),
        ]

    def _size_words(self) -> str:
        verdict = self.presenter.verdict
        if verdict is None:
            return ""
        people = counted(len(verdict.evaluators), "evaluator")
        return f"{people}, {counted(len(verdict.sets), 'set')} beside the control"


def ear_data(presenter: VerdictPresenter) -> EarPlotData | None:
    """Return what the scatter plot of the attribute looked at draws; None without one."""
    ear, verdict = presenter.ear, presenter.verdict
    if ear is None or verdict is None:
        return None
    control = verdict.question.control
    points = tuple(
        EarPlotPoint(
            f"{presenter.name_of(p.code)}{' (control)' if p.code == control else ''}",
            p.figure,
            p.score,
            p.code == control,
        )
        for p in ear.points
    )
    found = ear.found
    slope = None
    if found.slope is not None:
        slope = (found.slope, found.slope_lower, found.slope_upper)
    unit = f", {ear.unit}" if ear.unit else ""
    return EarPlotData(
        points, slope, f"{title_of(ear.figure)}{unit}", f"{ear.name}, mean score", ear.sentence
    )


def _cell_key(words: str, word: Word, difference: float) -> LegendKey:
    cell = Cell(None, word, 0, difference, difference - 1, difference + 1)

    def draw(painter: QPainter, middle: QPointF) -> None:
        axis = Axis(difference - 1, difference + 1, middle.x() - 18, middle.x() + 18)
        draw_point(painter, axis, middle.y(), cell)

    return LegendKey(words, draw)


def _dot_key(words: str, *, is_filled: bool) -> LegendKey:
    def draw(painter: QPainter, middle: QPointF) -> None:
        theme = current_theme()
        painter.setPen(QPen(QColor(theme.accent), 2))
        painter.setBrush(QColor(theme.accent) if is_filled else Qt.BrushStyle.NoBrush)
        painter.drawEllipse(QRectF(middle.x() - 5, middle.y() - 5, 10, 10))

    return LegendKey(words, draw)
