"""One run over frequency and speed, or time, with lines marked by the lead."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import partial
from typing import Any

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen
from PySide6.QtWidgets import QCheckBox, QLabel

from app.lead.recordings.looks.look_panel import LookPanel, level
from app.lead.recordings.looks.plot_frame import FREQUENCY_TICKS, PlotFrame
from app.lead.recordings.presenter import RecordingsPresenter
from app.parts.buttons import QuietButton
from app.parts.fields import Choice, NumberField
from app.parts.file_asking import AskPath
from app.parts.fonts import font
from app.parts.picture import LegendKey
from app.parts.saving import Exporter
from app.parts.theme import current_theme
from ratings.findings.measured_axes import Axis
from ratings.findings.run_curves import Floats, LevelMap, RunCurves, level_map, map_range_db
from ratings.findings.run_lines import (
    MapLine,
    found_lines,
    marked_line,
    pattern_line,
    shift_sentence,
)
from ratings.reports.measured_table import Table, level_unit, map_table
from ratings.study.wording import listed

_STYLE_WORDS = {
    Qt.PenStyle.SolidLine: "stays at its frequency",
    Qt.PenStyle.DashLine: "follows the wheel",
    Qt.PenStyle.DotLine: "expected of the tread",
}
_FIRST_MARK_HZ = 200.0
_SCALE_STEP_DB = 10
_LABEL_WIDTH, _LABEL_HEIGHT = 0.2, 0.06
_LABEL_PLACES = (1.0, 0.75, 0.5, 0.25, 0.0)


class MapPanel(LookPanel):
    """Colour is level; the lead marks lines that stay, and lines that follow speed."""

    question = "When, or at which speed, does it sound?"

    def __init__(
        self, presenter: RecordingsPresenter, exporter: Exporter, ask_path: AskPath
    ) -> None:
        super().__init__(presenter, exporter, ask_path)
        self.runs = Choice("run")
        self.runs.setMinimumContentsLength(9)
        self.hz = NumberField("frequency of a line to mark, in Hz", 20.0, 12_500.0, unit="Hz")
        self.hz.setValue(_FIRST_MARK_HZ)
        self.hz.setFixedWidth(124)
        self.mark_constant = QuietButton("Fixed frequency")
        self.mark_order = QuietButton("Order line")
        self.clear_marks = QuietButton("Clear")
        self.shows_found = QCheckBox("Lines found")
        self.shows_found.setChecked(True)
        self.shifts = QLabel()
        self.shifts.setTextFormat(Qt.TextFormat.PlainText)
        self.shifts.setWordWrap(True)
        self.frame = PlotFrame("map of one run")
        self.frame.reader.setAngle(90)
        #: Marked by the lead.
        self.lines: tuple[MapLine, ...] = ()
        #: Found by measuring, and expected of the tread.
        self.found: tuple[MapLine, ...] = ()
        self._map: LevelMap | None = None
        self._row = math.nan
        self.mark_constant.setAccessibleName("mark a line that stays at this frequency")
        self.mark_order.setAccessibleName("mark a line that follows the speed")
        self.clear_marks.setAccessibleName("clear the marked lines")
        self._build()

    def show_results(self) -> None:
        """Draw the chosen run."""
        self.set_question(self.question)
        self._offer_runs(self.presenter.curves or ())
        chosen = self._chosen()
        self._map = None if chosen is None else level_map(chosen, self.presenter.channel)
        shown = self._map
        self._find_lines(chosen)
        self.mark_order.setVisible(shown is not None and shown.is_over_speed)
        self._fill(self.frame)
        self.reading.setText(self._rest_words())
        self.caption.setText(self._caption())

    def _fill(self, frame: PlotFrame) -> None:
        shown = self._map
        if shown is not None and shown.rows.size > 1:
            frame.set_axes(
                Axis(float(shown.log_hz[0]), float(shown.log_hz[-1])),
                Axis(float(shown.rows[0]), float(shown.rows[-1])),
                (
                    "Frequency in Hz",
                    "Speed in km/h" if shown.is_over_speed else "Time in s",
                ),
                FREQUENCY_TICKS,
            )
        frame.show_curves((), lambda: self._draw(frame))

    def mark(self, *, follows_speed: bool) -> None:
        """Mark a line at the frequency in the field, through the row last pointed at."""
        if not self.hz.commit():
            return
        hz, speed_km_h = self.hz.value(), None
        if follows_speed and self._map is not None:
            last_km_h = float(self._map.rows[-1])
            speed_km_h = self._row if math.isfinite(self._row) else last_km_h
        self.lines = (*self.lines, marked_line(hz, speed_km_h))
        self.show_results()

    def unmark(self) -> None:
        """Take all marks away."""
        self.lines = ()
        self.show_results()

    def plot_copy(self) -> PlotFrame:
        """Return the map anew."""
        return self.frame.copied(self._fill)

    def facts(self) -> list[str]:
        """Name the run; others do not count here."""
        return [*self.place_words(), self.runs.currentText()]

    def sentence(self) -> str:
        """Say what happens at one speed, or which lines were found."""
        if self.shifts.text():
            return self.shifts.text()
        names = [line.words for line in self.found if line.origin == "found"]
        return f"Lines found in this run, the strongest first: {listed(names)}." if names else ""

    def picture_keys(self) -> list[LegendKey]:
        """Say what solid, dashed and dotted lines are, where there are any."""
        styles = {_style(line) for line in self._drawn_lines()}
        return [
            LegendKey(words, partial(_draw_sample, style=style))
            for style, words in _STYLE_WORDS.items()
            if style in styles
        ]

    def table(self) -> Table:
        """Return the map: a row per speed or time, a column per frequency."""
        return [[]] if self._map is None else map_table(self._map)

    def file_words(self) -> str:
        """Name the run as well."""
        return f"{super().file_words()}, {self.runs.currentText()}"

    def _build(self) -> None:
        at = QLabel("Mark at")
        self.tools.add(self.runs)
        self.tools.add(self.shows_found)
        for widget in (at, self.hz, self.mark_constant, self.mark_order, self.clear_marks):
            self.tools.add(widget)
        self.body.addWidget(self.frame, 1)
        self.body.addWidget(self.reading)
        self.body.addWidget(self.shifts)
        self.finish()
        self.runs.activated.connect(lambda _place: self.show_results())
        self.shows_found.toggled.connect(lambda _on: self.show_results())
        self.frame.pointed.connect(self._read)
        self.frame.clicked.connect(self._take_point)
        self.mark_constant.clicked.connect(lambda: self.mark(follows_speed=False))
        self.mark_order.clicked.connect(lambda: self.mark(follows_speed=True))
        self.clear_marks.clicked.connect(self.unmark)

    def _draw(self, frame: PlotFrame) -> None:
        shown = self._map
        if shown is None or shown.rows.size < 2:
            return
        import pyqtgraph as pg

        low, high = map_range_db(
            self.presenter.curves or (),
            self.presenter.channel,
            is_level_true=shown.is_level_true,
        )
        image = pg.ImageItem(shown.level_db.T, levels=(low, high))
        image.setColorMap(pg.colormap.get("cividis"))
        x, y = shown.log_hz, shown.rows
        image.setRect(QRectF(x[0], y[0], x[-1] - x[0], y[-1] - y[0]))
        frame.add(image, is_below=True)
        _show_scale(frame, low, high, level_unit(is_level_true=shown.is_level_true))
        for item in self._line_items(pg, shown):
            frame.add(item)

    def _find_lines(self, chosen: RunCurves | None) -> None:
        """Take what was found in the chosen run, in lines and in words."""
        channel = self.presenter.channel
        found = () if chosen is None else found_lines(chosen, channel)
        expected = None if chosen is None else pattern_line(chosen)
        self.found = found if expected is None else (*found, expected)
        words = "" if chosen is None else shift_sentence(chosen, channel)
        self.shifts.setText(words)
        self.shifts.setVisible(bool(words))
        self.shows_found.setVisible(bool(self.found))

    def _drawn_lines(self) -> tuple[MapLine, ...]:
        return (*self.lines, *(self.found if self.shows_found.isChecked() else ()))

    def _line_items(self, pg: Any, shown: LevelMap) -> Iterator[Any]:
        lines = [(line, line.points(shown)) for line in self._drawn_lines()]
        lines = [(line, course) for line, course in lines if course[0].size]
        places = label_places([course for _, course in lines], shown)
        for (line, (x, y)), place in zip(lines, places, strict=True):
            style = _style(line)
            # White over black is seen on every colour of the map.
            for colour, width in (("#000000", 4), ("#FFFFFF", 2)):
                pen = pg.mkPen(colour, width=width, style=style)
                yield pg.PlotDataItem(x, y, pen=pen)
            # Labels hang inside the map: at its right end to the left of their line, and where a
            # line ends in the lower half, above it.
            is_right = place[0] > 0.75 * shown.log_hz[-1] + 0.25 * shown.log_hz[0]
            is_low = place[1] < (shown.rows[0] + shown.rows[-1]) / 2
            label = pg.TextItem(
                line.words,
                color="#FFFFFF",
                fill=(0, 0, 0, 170),
                anchor=(int(is_right), int(is_low)),
            )
            label.textItem.setFont(font("small"))
            label.setPos(*place)
            yield label

    def _offer_runs(self, curves: tuple[RunCurves, ...]) -> None:
        names = [self._run_words(each) for each in curves]
        if [self.runs.itemText(n) for n in range(self.runs.count())] == names:
            return
        chosen = self.runs.currentData()
        self.runs.clear()
        for name, each in zip(names, curves, strict=True):
            self.runs.addItem(name, each.run.recording_id)
        self.runs.setCurrentIndex(max(self.runs.findData(chosen), 0))

    def _run_words(self, each: RunCurves) -> str:
        words = f"{each.run.set_code}, run {each.run.run}"
        return f"{words}, {each.run.worst}" if each.run.worst == "void" else words

    def _chosen(self) -> RunCurves | None:
        wanted = self.runs.currentData()
        known = self.presenter.curves or ()
        return next((each for each in known if each.run.recording_id == wanted), None)

    def _take_point(self, log_hz: float, row: float) -> None:
        self.hz.setValue(10.0**log_hz)
        self._row = row

    def _read(self, log_hz: float, row: float) -> None:
        shown = self._map
        if shown is None:
            return
        row, level_db = shown.near(log_hz, row)
        unit = "km/h" if shown.is_over_speed else "s"
        self.reading.setText(f"{10**log_hz:.0f} Hz at {row:.1f} {unit}:  {level(level_db)} dB")
        self.frame.setAccessibleDescription(self.reading.text())

    def _rest_words(self) -> str:
        if self.presenter.curves is None:
            return "Reading the curves."
        if not self.presenter.curves:
            return "No run of this condition is measured yet."
        if self._map is None:
            return "This run was measured without a map. Measure it again."
        return "Point at the map to read levels; a click takes its frequency for a line."

    def _caption(self) -> str:
        if self._map is None:
            return ""
        words = "Of several lines in one place the loudest. One scale for all runs."
        if self._map.is_over_speed:
            words += " Solid: stays. Dashed: follows the wheel."
            if any(line.origin == "expected" for line in self.found):
                words += " Dotted: expected."
        return words


def _show_scale(frame: PlotFrame, low: float, high: float, unit: str) -> None:
    import pyqtgraph as pg

    if frame.bar is None:
        frame.bar = pg.ColorBarItem(
            colorMap=pg.colormap.get("cividis"), interactive=False, width=18, label=unit
        )
        frame.plot.plotItem.layout.addItem(frame.bar, 2, 5)
    frame.bar.setLevels((low, high))
    theme = current_theme()
    for side in ("left", "right"):
        axis = frame.bar.getAxis(side)
        axis.setTickFont(font("small"))
        axis.label.setFont(font("small"))
        axis.setTextPen(pg.mkPen(theme.soft_text))
        axis.setPen(pg.mkPen(theme.tick))
    # At the very ends a number would be cut in half.
    inner = range(round(low) + _SCALE_STEP_DB, round(high), _SCALE_STEP_DB)
    frame.bar.getAxis("right").setTicks([[(level_db, f"{level_db}") for level_db in inner]])
    frame.bar.getAxis("left").setLabel(unit, color=theme.soft_text)


def _style(line: MapLine) -> Qt.PenStyle:
    if line.origin == "expected":
        return Qt.PenStyle.DotLine
    return Qt.PenStyle.DashLine if line.follows_speed else Qt.PenStyle.SolidLine


def _draw_sample(painter: QPainter, middle: QPointF, style: Qt.PenStyle) -> None:
    half = QPointF(18, 8)
    painter.fillRect(QRectF(middle - half, middle + half), QColor("#00224D"))
    painter.setPen(QPen(QColor("#FFFFFF"), 2, style, Qt.PenCapStyle.FlatCap))
    painter.drawLine(middle - QPointF(15, 0), middle + QPointF(15, 0))


def label_places(
    courses: Sequence[tuple[Floats, Floats]], shown: LevelMap
) -> Iterator[tuple[float, float]]:
    """Choose where the label of each line stands, on the line and off the labels before it."""
    width = _LABEL_WIDTH * (shown.log_hz[-1] - shown.log_hz[0]) / 2.0
    height = _LABEL_HEIGHT * (shown.rows[-1] - shown.rows[0])
    taken: list[tuple[float, float]] = []
    for log_hz, rows in courses:
        places = [round(part * (rows.size - 1)) for part in _LABEL_PLACES]
        offered = [(float(log_hz[at]), float(rows[at])) for at in places]
        free = (
            (x, y)
            for x, y in offered
            if all(abs(x - a) > width or abs(y - b) > height for a, b in taken)
        )
        place = next(free, offered[0])
        taken.append(place)
        yield place
