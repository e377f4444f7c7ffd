"""Level of a band over speed, in the coast-downs."""

from app.lead.recordings.looks.exporting import Exporter
from app.lead.recordings.looks.look_panel import LookPanel, level
from app.lead.recordings.looks.plot_frame import PlotFrame
from app.lead.recordings.looks.set_keys import SetKeys
from app.lead.recordings.presenter import RecordingsPresenter
from app.parts.fields import Choice
from app.parts.file_asking import AskPath
from ratings.findings.measured_axes import Axis, speed_levels_axis
from ratings.findings.run_curves import OVERALL, Curve, bands_over_speed, levels_over_speed
from ratings.reports.measured_table import Table, level_unit, speed_table

_BIN_KM_H = 5.0


class SpeedPanel(LookPanel):
    """Mean level of each set over its runs, in bins of 5 km/h."""

    def __init__(
        self, presenter: RecordingsPresenter, exporter: Exporter, ask_path: AskPath
    ) -> None:
        super().__init__(presenter, exporter, ask_path)
        self.keys = SetKeys()
        self.bands = Choice("band")
        self.bands.setMinimumContentsLength(22)
        self.frame = PlotFrame("level over speed")
        self.picture = self.frame
        self._curves: tuple[Curve, ...] = ()
        self.tools.add(self.keys)
        self.tools.add(self.bands)
        self.body.addWidget(self.frame, 1)
        self.body.addWidget(self.reading)
        self.finish()
        self.keys.set_switched.connect(lambda code, on: presenter.show_set(code, is_shown=on))
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
        self.set_question("Does the level fall evenly with speed?")
        self._curves = levels_over_speed(known, presenter.channel, self.band)
        is_true = any(curve.is_level_true for curve in self._curves)
        alike = tuple(c for c in self._curves if c.is_level_true == is_true)
        codes = [curve.code for curve in alike]
        marks = self.marks()
        shown = [marks[code] for code in presenter.all_codes if code in codes]
        self.keys.show_marks(shown, presenter.hidden)
        speeds = [float(x) for curve in alike for x in curve.x]
        if speeds:
            self.frame.set_axes(
                Axis(min(speeds) - _BIN_KM_H / 2, max(speeds) + _BIN_KM_H / 2),
                speed_levels_axis(known, presenter.channel, is_level_true=is_true),
                ("Speed in km/h", level_unit(is_level_true=is_true, weighting=self._weighting)),
            )
        self.frame.show_curves(self.drawn(alike))
        self.caption.setText("Mean level in bins of 5 km/h. One axis for all bands and sets.")
        self.reading.setText(self._rest_words())

    def table(self) -> Table:
        """Return speed and the level of each shown set."""
        return speed_table(self.presenter.shown_curves(self._curves), self._weighting)

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
        bins = sorted({float(x) for curve in self._curves for x in curve.x})
        if not bins:
            return
        nearest = min(bins, key=lambda each: abs(each - speed_km_h))
        values = [
            f"{curve.code} {level(curve.at(nearest))} dB"
            for curve in self.presenter.shown_curves(self._curves)
        ]
        half = _BIN_KM_H / 2
        name = f"{nearest - half:g} to {nearest + half:g} km/h"
        self.reading.setText(f"{name}:  " + ",  ".join(values))
        self.frame.setAccessibleDescription(self.reading.text())

    def _rest_words(self) -> str:
        if self.presenter.curves is None:
            return "Reading the curves."
        if not self._curves:
            return (
                "No coast-down of this condition is measured with its speed known. "
                "Bring its speed in with the run."
            )
        return "Point at the plot, or use Left and Right, to read levels."
