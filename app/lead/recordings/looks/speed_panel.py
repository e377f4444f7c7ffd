"""Level of a band over speed, in the coast-downs."""

from app.lead.recordings.looks.look_panel import CurvesPanel, level
from app.lead.recordings.looks.plot_frame import PlotFrame
from app.lead.recordings.presenter import RecordingsPresenter
from app.parts.fields import Choice
from app.parts.file_asking import AskPath
from app.parts.saving import Exporter
from ratings.findings.measured_axes import Axis, speed_levels_axis
from ratings.findings.run_curves import OVERALL, bands_over_speed, levels_over_speed
from ratings.findings.run_lines import shift_sentence
from ratings.reports.measured_table import Table, level_unit, speed_table

_BIN_KM_H = 5.0


class SpeedPanel(CurvesPanel):
    """Mean level of each set over its runs, in bins of 5 km/h."""

    question = "Does the level fall evenly with speed?"

    def __init__(
        self, presenter: RecordingsPresenter, exporter: Exporter, ask_path: AskPath
    ) -> None:
        super().__init__(presenter, exporter, ask_path)
        self.bands = Choice("band")
        self.bands.setMinimumContentsLength(22)
        self.frame = PlotFrame("level over speed")
        self.tools.add(self.keys)
        self.tools.add(self.bands)
        self.body.addWidget(self.frame, 1)
        self.body.addWidget(self.reading)
        self.finish()
        self.bands.activated.connect(lambda _place: self.show_results())
        self.frame.pointed.connect(lambda x, _y: self._read(x))

    @property
    def band(self) -> str:
        """Key of the chosen band; empty when none is known over speed."""
        key = self.bands.currentData()
        return key if isinstance(key, str) else ""

    def show_results(self) -> None:
        """Draw the condition, channel and band looked at."""
        presenter = self.presenter
        known = presenter.curves or ()
        self._offer_bands(bands_over_speed(known))
        self.set_question(self.question)
        self.curves = levels_over_speed(known, presenter.channel, self.band)
        self.show_keys(self.alike)
        self.fill(self.frame)
        self.caption.setText("Mean level in bins of 5 km/h. One axis for all bands and sets.")
        self.reading.setText(self._rest_words())

    def fill(self, frame: PlotFrame) -> None:
        """Draw the levels over speed."""
        is_true = self.is_level_true
        speeds = [float(x) for curve in self.alike for x in curve.x]
        if speeds:
            known, channel = self.presenter.curves or (), self.presenter.channel
            frame.set_axes(
                Axis(min(speeds) - _BIN_KM_H / 2, max(speeds) + _BIN_KM_H / 2),
                speed_levels_axis(known, channel, is_level_true=is_true),
                ("Speed in km/h", level_unit(is_level_true=is_true, weighting=self._weighting)),
            )
        frame.show_curves(self.drawn(self.alike))

    def facts(self) -> list[str]:
        """Name the band as well."""
        *place, runs = super().facts()
        return [*place, self.bands.currentText(), runs]

    def sentence(self) -> str:
        """Say what happens at one speed in the runs of the sets shown."""
        presenter = self.presenter
        told = [
            f"{each.run.set_code}, run {each.run.run}: {words}"
            for each in presenter.curves or ()
            if each.run.set_code not in presenter.hidden and each.run.worst != "void"
            if (words := shift_sentence(each, presenter.channel))
        ]
        return " ".join(told)

    def table(self) -> Table:
        """Return speed and the level of each shown set."""
        return speed_table(self.presenter.shown_curves(self.curves), self._weighting)

    def file_words(self) -> str:
        """Name the band as well."""
        return f"{super().file_words()}, {self.bands.currentText()}"

    @property
    def _weighting(self) -> str:
        return "A-weighted" if self.band == OVERALL else "unweighted"

    def _offer_bands(self, keys: tuple[str, ...]) -> None:
        offered = tuple(self.bands.itemData(n) for n in range(self.bands.count()))
        if offered == keys:
            return
        chosen = self.band
        names = self._names()
        self.bands.clear()
        for key in keys:
            self.bands.addItem(names.get(key, key), key)
        self.bands.setCurrentIndex(max(self.bands.findData(chosen), 0))

    def _names(self) -> dict[str, str]:
        reading = self.presenter.reading
        bands = () if reading is None else reading.bands.bands
        names = {band.key: f"{band.name}, {band.range_text}" for band in bands}
        return names | {OVERALL: "Overall, A-weighted"}

    def _read(self, speed_km_h: float) -> None:
        bins = sorted({float(x) for curve in self.curves for x in curve.x})
        if not bins:
            return
        nearest = min(bins, key=lambda each: abs(each - speed_km_h))
        values = [
            f"{curve.code} {level(curve.at(nearest))} dB"
            for curve in self.presenter.shown_curves(self.curves)
        ]
        half = _BIN_KM_H / 2
        name = f"{nearest - half:g} to {nearest + half:g} km/h"
        self.reading.setText(f"{name}:  " + ",  ".join(values))
        self.frame.setAccessibleDescription(self.reading.text())

    def _rest_words(self) -> str:
        if self.presenter.curves is None:
            return "Reading the curves."
        if not self.curves:
            return (
                "No coast-down of this condition is measured with its speed known. "
                "Bring its speed in with the run."
            )
        return "Point at the plot, or use Left and Right, to read levels."
