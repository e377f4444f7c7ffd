"""Spectra of the sets, one over the other."""

import math

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QCheckBox

from app.lead.recordings.looks.look_panel import CurvesPanel, level
from app.lead.recordings.looks.plot_frame import FREQUENCY_TICKS, DrawnCurve, PlotFrame
from app.lead.recordings.presenter import RecordingsPresenter
from app.parts.file_asking import AskPath
from app.parts.saving import Exporter
from app.parts.theme import current_theme
from ratings.acoustics.third_octaves import THIRD_OCTAVES
from ratings.findings.measured_axes import Axis, spectrum_axis, third_octave_axis
from ratings.findings.run_curves import (
    HIGHEST_HZ,
    LOWEST_HZ,
    heard_spectra,
    predicted_cavity_hz,
    third_octave_spectra,
)
from ratings.reports.measured_table import Table, level_unit, spectrum_table

_X_AXIS = Axis(math.log10(LOWEST_HZ), math.log10(HIGHEST_HZ))


class SpectrumPanel(CurvesPanel):
    """Mean spectrum of each set over its runs, as 1 Hz lines or third octaves."""

    question = "Where in the spectrum do the sets differ?"

    def __init__(
        self, presenter: RecordingsPresenter, exporter: Exporter, ask_path: AskPath
    ) -> None:
        super().__init__(presenter, exporter, ask_path)
        self.thirds = QCheckBox("Third octaves")
        self.frame = PlotFrame("spectra of the sets")
        self.tools.add(self.keys)
        self.tools.add(self.thirds)
        self.body.addWidget(self.frame, 1)
        self.body.addWidget(self.reading)
        self.finish()
        self.thirds.toggled.connect(lambda _on: self.show_results())
        self.frame.pointed.connect(lambda x, _y: self._read(x))

    def show_results(self) -> None:
        """Draw the condition and channel looked at."""
        presenter, reading = self.presenter, self.presenter.reading
        if reading is None:
            return
        self.set_question(f"{self.question} {presenter.channel_words(presenter.channel)}")
        self.curves = (
            third_octave_spectra(presenter.block())
            if self.thirds.isChecked()
            else heard_spectra(presenter.curves or (), presenter.channel)
        )
        self.show_keys(self.curves)
        self.fill(self.frame)
        self.caption.setText(self._caption())
        self.reading.setText(self._rest_words())

    def fill(self, frame: PlotFrame) -> None:
        """Draw the spectra."""
        reading = self.presenter.reading
        if reading is None:
            return
        is_true = self.is_level_true
        axis_of = third_octave_axis if self.thirds.isChecked() else spectrum_axis
        frame.set_axes(
            _X_AXIS,
            axis_of(reading.found, is_level_true=is_true),
            ("Frequency in Hz", level_unit(is_level_true=is_true)),
            FREQUENCY_TICKS,
        )
        drawn = [DrawnCurve(c.mark, np.log10(c.x), c.y) for c in self.drawn(self.alike)]
        frame.show_curves(drawn, lambda: self._draw_cavity(frame))

    def table(self) -> Table:
        """Return frequency and the level of each shown set."""
        return spectrum_table(self.presenter.shown_curves(self.curves))

    def _draw_cavity(self, frame: PlotFrame) -> None:
        predicted = predicted_cavity_hz(self.presenter.curves or ())
        if predicted is None:
            return
        import pyqtgraph as pg
        from PySide6.QtGui import QColor

        theme = current_theme()
        tint = QColor(theme.attention)
        tint.setAlpha(40)
        low, high = (math.log10(hz) for hz in predicted)
        edge = pg.mkPen(theme.attention, style=Qt.PenStyle.DashLine)
        region = pg.LinearRegionItem((low, high), movable=False, brush=tint, pen=edge)
        frame.add(region, is_below=True)
        ends = dict.fromkeys(f"{hz:.0f}" for hz in predicted)
        words = f"cavity expected, {' to '.join(ends)} Hz"
        label = pg.TextItem(words, color=theme.attention, anchor=(0, 0))
        label.setPos(high, frame.top_of_axis())
        frame.add(label)

    def _read(self, log_hz: float) -> None:
        hz = 10.0**log_hz
        if self.thirds.isChecked():
            nearest = min(THIRD_OCTAVES, key=lambda band: abs(math.log10(band.centre_hz) - log_hz))
            hz, name = nearest.centre_hz, f"third octave {nearest.name} Hz"
        else:
            name = f"{hz:.0f} Hz"
        values = [
            f"{curve.code} {level(curve.at(hz))} dB"
            for curve in self.presenter.shown_curves(self.curves)
        ]
        self.reading.setText(f"{name}:  " + ",  ".join(values) if values else name)
        self.frame.setAccessibleDescription(self.reading.text())

    def _rest_words(self) -> str:
        if self.presenter.curves is None and not self.thirds.isChecked():
            return "Reading the curves."
        if not self.curves:
            return "No run of this condition is measured yet."
        return "Point at the plot, or use Left and Right, to read levels."

    def _caption(self) -> str:
        if not self.curves:
            return ""
        runs = ", ".join(f"{curve.code}: {curve.runs}" for curve in self.curves)
        text = f"Mean level over the runs ({runs}). One axis for all sets and conditions."
        left_out = [c.code for c in self.curves if not c.is_level_true]
        if self.is_level_true and left_out:
            text += f" Not drawn, because not calibrated: {', '.join(left_out)}."
        return text
