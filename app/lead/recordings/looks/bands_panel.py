"""How far each set is from the control, band by band."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent

from app.lead.recordings.form_page import scrolled
from app.lead.recordings.looks.band_bars import BandBars, BarRow, bar_keys
from app.lead.recordings.looks.look_panel import LookPanel
from app.lead.recordings.looks.set_keys import mark_key
from app.lead.recordings.presenter import RecordingsPresenter
from app.parts.buttons import QuietButton
from app.parts.file_asking import AskPath
from app.parts.picture import LegendKey
from app.parts.saving import Exporter
from ratings.findings.measured_axes import difference_axis
from ratings.findings.measured_figures import FigureFinding, is_clear
from ratings.reports.figure_words import signed
from ratings.reports.measured_table import Table, figure_table

_LEAST_HEIGHT_PX = 180


class BandsPanel(LookPanel):
    """Differences with 95 % intervals; the bands themselves are changed from here.

    Attributes
    ----------
    edit
        Opens the editor of bands.
    """

    question = "How far is each set from the control?"

    def __init__(
        self, presenter: RecordingsPresenter, exporter: Exporter, ask_path: AskPath
    ) -> None:
        super().__init__(presenter, exporter, ask_path)
        self.bars = BandBars()
        self.edit = QuietButton("Change the bands")
        self.body.addWidget(self.reading)
        self.tools.add(self.edit)
        self._is_flat = False
        self._scroll = scrolled(self.bars, has_frame=True)
        self._scroll.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.body.addWidget(self._scroll, 1)
        self.finish()
        self.flatten(is_flat=False)

    def flatten(self, *, is_flat: bool) -> None:
        """Show all bars, or as many as there is room for."""
        self._is_flat = is_flat
        whole_px = self.bars.minimumSizeHint().height() + 2 * self._scroll.frameWidth()
        self._scroll.setMinimumHeight(whole_px if is_flat else _LEAST_HEIGHT_PX)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Narrow bars are higher."""
        super().resizeEvent(event)
        self.flatten(is_flat=self._is_flat)

    def show_results(self) -> None:
        """Show the condition and channel looked at."""
        presenter, reading = self.presenter, self.presenter.reading
        if reading is None:
            return
        self.set_question(f"{self.question} {presenter.channel_words(presenter.channel)}")
        self._fill(self.bars)
        self.flatten(is_flat=self._is_flat)
        self.reading.setText(presenter.levels_line())
        self.caption.setText(
            "95 % intervals. Filled: clear, adjusted for all sets and figures here "
            f"(Holm); open: not. Bands version {reading.bands.version}; they overlap "
            f"and are never added.{self._reasons()}"
        )

    def _reasons(self) -> str:
        """Say what differences that are drawn rest on, or why they have no interval."""
        reasons = dict.fromkeys(
            each.reason
            for finding in self.presenter.compared_levels()
            for each in finding.differences
            if each.difference is not None and each.reason
        )
        return "".join(f" {reason[0].upper()}{reason[1:]}." for reason in reasons)

    def _fill(self, bars: BandBars) -> None:
        reading = self.presenter.reading
        if reading is not None:
            levels = self.presenter.compared_levels()
            rows = [row for finding in levels for row in self._rows(finding)]
            bars.show_rows(rows, difference_axis(reading.found), reading.control)

    def plot_copy(self) -> BandBars:
        """Return the bars anew."""
        made = BandBars()
        self._fill(made)
        return made

    def picture_keys(self) -> list[LegendKey]:
        """Return the marks of the sets, and what the zero line, filled and open mean."""
        marks = self.marks()
        levels = self.presenter.compared_levels()
        codes = [each.set for each in levels[0].differences] if levels else []
        return [*(mark_key(marks[code]) for code in codes), *bar_keys(self.presenter.control)]

    def sentence(self) -> str:
        """Say what stands out, and how loud it is."""
        return self.presenter.levels_line()

    def table(self) -> Table:
        """Return the figures of the bands shown."""
        return figure_table(self.presenter.compared_levels())

    def _rows(self, finding: FigureFinding) -> list[BarRow]:
        marks = self.marks()
        band = self.presenter.level_name(finding.key)
        rows = []
        for place, each in enumerate(finding.differences):
            rows.append(
                BarRow(
                    band=band if place == 0 else "",
                    mark=marks[each.set],
                    difference=each.difference,
                    low=each.low,
                    high=each.high,
                    words=_number_words(each.difference, each.low, each.high) or each.reason,
                    is_clear=is_clear(finding, each),
                )
            )
        return rows


def _number_words(difference: float | None, low: float | None, high: float | None) -> str:
    if difference is None:
        return ""
    if low is None or high is None:
        return f"{signed(difference)} dB"
    return f"{signed(difference)} dB ({signed(low)} to {signed(high)})"
