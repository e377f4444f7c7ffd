"""Envelopes of critical bands: how deep each is modulated, and how alike neighbours are."""

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy import fft

from ratings.acoustics.audibility import bark, hertz, threshold_db
from ratings.acoustics.roughness.tables import (
    BAND_STEP_BARK,
    BANDS,
    HIGHEST_MODULATION_HZ,
    modulation_weights,
)
from ratings.study.constants import REFERENCE_PRESSURE_PA

_DOWNWARD_DB: Final = -27.0
_RECTIFIED_BANDS: Final = 28
_FIRST_MODULATION_LINE: Final = 2
_DECIBEL: Final = np.log(10.0) / 20.0


class _UpwardSpread:
    """The gain of each line at an edge that climbs by half a Bark at a time.

    Parameters
    ----------
    power
        Shape (rows, lines), in pascal squared; zero for lines that are not heard.
    rate_bark, steepness_db
        Shape (lines,): place of the lines, and by how much each falls per Bark at 0 dB.

    Attributes
    ----------
    first
        The first line that is still followed.
    gain
        Shape (rows, lines): of use between `first` and the last climb's `below`.
    """

    def __init__(
        self,
        power: npt.NDArray[np.float32],
        rate_bark: npt.NDArray[np.float64],
        steepness_db: npt.NDArray[np.floating],
    ) -> None:
        # The slope is 0.2 dB per Bark less steep for each dB of level.
        rise = np.log(np.maximum(power, np.finfo(np.float32).tiny))
        rise *= np.float32(0.2 * 0.5)
        offset = -_DECIBEL * steepness_db - 0.2 * np.log(REFERENCE_PRESSURE_PA)
        rise += offset.astype(np.float32)
        np.minimum(rise, 0, out=rise)
        rise[power == 0] = -1000
        self._per_bark = rise
        self._per_step = np.exp(rise * np.float32(BAND_STEP_BARK))
        self._rate_bark = rate_bark
        self._below = 0
        self.first = 0
        self.gain = np.empty_like(power)

    def climb(self, first: int, below: int, edge_bark: float) -> None:
        """Go to the next edge, which lines before `below` lie below; those before `first` end."""
        self.first = first
        self.gain[:, first : self._below] *= self._per_step[:, first : self._below]
        start = max(first, self._below)
        if start < below:
            distance = (edge_bark - self._rate_bark[start:below]).astype(np.float32)
            self.gain[:, start:below] = np.exp(self._per_bark[:, start:below] * distance)
        self._below = below


@dataclass(frozen=True, slots=True, eq=False)
class Modulation:
    """What the bands do, per row of spectra.

    Attributes
    ----------
    depth
        Shape (rows, 47): effective value of the weighted envelope over its mean, at most 1.
    correlation
        Shape (rows, 45): correlation of the envelopes of bands i and i + 2, 1 Bark apart.
    """

    depth: npt.NDArray[np.float64]
    correlation: npt.NDArray[np.float64]


class CriticalBands:
    """The 47 overlapping bands, 1 Bark wide, for spectra of one line distance.

    Parameters
    ----------
    resolution_hz
        Distance of the lines; the first line lies at it.
    lines
        Their number.

    Notes
    -----
    A line spreads into higher bands with -24 - 230 Hz / f + 0.2 L / dB and into lower bands with
    -27 dB per Bark (Terhardt). The slope is read at the edge of the band that is nearer to the
    line, and ends where it falls under the threshold in quiet.

    A band is a sum of lines, and only the slow part of its rectified course matters. It is
    therefore computed at fewer instants than a frame has samples, some hundreds to thousands, as
    the band is wide. Up to 14 Bark the course itself is rectified, because twice the carrier of
    a loud low tone is still a modulation that the weights let through. Above, the mean of a
    rectified carrier stands for it, 2 / pi times the envelope; the factor cancels in the depth.
    There the lines are folded modulo the number of instants, which keeps the envelope exact at
    these instants, whatever else spreads into the band. Of the full transforms a frame misses
    1.2 % at most (`tests/ratings/acoustics/test_roughness_routes.py`).
    """

    def __init__(self, resolution_hz: float, lines: int) -> None:
        frequency_hz = np.arange(1, lines + 1) * resolution_hz
        self._rate_bark = bark(frequency_hz)
        # Band i lies between edges i and i + 2.
        self._edge_bark = np.arange(BANDS + 2) * BAND_STEP_BARK
        self._first_above_edge = np.searchsorted(self._rate_bark, self._edge_bark).tolist()
        self._edge_threshold_db = threshold_db(self._edge_bark)
        self._edge_threshold = _power(self._edge_threshold_db).astype(np.float32)
        self._threshold = _power(threshold_db(self._rate_bark)).astype(np.float32)
        self._steepness_db = 24.0 + 230.0 / frequency_hz
        self._instants = [_instants(band, resolution_hz) for band in range(BANDS)]
        modulation_hz = np.arange(0, HIGHEST_MODULATION_HZ, resolution_hz)
        weights = modulation_weights(modulation_hz)
        # Slower modulation is fluctuation, and the frame's window itself.
        weights[:, :_FIRST_MODULATION_LINE] = 0
        self._modulation_weights = weights.astype(np.float32)

    def modulation(self, spectra: npt.NDArray[np.complex64]) -> Modulation:
        """Return depth and correlation of the envelopes.

        Parameters
        ----------
        spectra
            Shape (rows, lines): effective pressure in pascal at the inner ear, with phase.
        """
        power = spectra.real**2 + spectra.imag**2
        audible = power > self._threshold
        lines = spectra * audible
        power *= audible
        first, last = self._reach(power.max(axis=0))
        spread = _UpwardSpread(power, self._rate_bark, self._steepness_db)
        modulation = Modulation(np.zeros((len(lines), BANDS)), np.zeros((len(lines), BANDS - 2)))
        envelopes: dict[int, npt.NDArray[np.complex64]] = {}
        for band in range(BANDS):
            spread.climb(first[band], self._first_above_edge[band], self._edge_bark[band])
            if last[band] == 0:
                continue
            excitation = self._excitation(band, last[band], lines, power, spread)
            envelope, modulation.depth[:, band] = self._envelope(band, excitation)
            envelopes[band] = envelope
            if band - 2 in envelopes:
                below = envelopes.pop(band - 2)
                modulation.correlation[:, band - 2] = (
                    below.real * envelope.real + below.imag * envelope.imag
                ).sum(axis=1)
        return modulation

    def _reach(self, highest_power: npt.NDArray[np.float32]) -> tuple[list[int], list[int]]:
        """Return for each band the first line that reaches it in any row, and one past the last."""
        heard = np.flatnonzero(highest_power)
        level_db = 10 * np.log10(highest_power[heard] / REFERENCE_PRESSURE_PA**2)
        slope_db = np.minimum(0.2 * level_db - self._steepness_db[heard], 0.0)
        distance = self._edge_bark[:, None] - self._rate_bark[heard]
        spread_db = np.where(distance > 0, slope_db, -_DOWNWARD_DB) * distance
        reaches = level_db + spread_db > self._edge_threshold_db[:, None]
        first, last = np.zeros(BANDS, dtype=int), np.zeros(BANDS, dtype=int)
        for band in range(BANDS):
            low, high = np.searchsorted(
                heard, [self._first_above_edge[band], self._first_above_edge[band + 2]]
            )
            inside = heard[low:high]
            below = heard[:low][reaches[band, :low]]
            above = heard[high:][reaches[band + 2, high:]]
            of_band = np.concatenate([below, inside, above])
            if len(of_band):
                first[band], last[band] = of_band[0], of_band[-1] + 1
        # What spreads on into a higher band must be followed through the lower ones.
        first[last == 0] = len(self._rate_bark)
        return np.minimum.accumulate(first[::-1])[::-1].tolist(), last.tolist()

    def _excitation(
        self,
        band: int,
        last: int,
        lines: npt.NDArray[np.complex64],
        power: npt.NDArray[np.float32],
        spread: _UpwardSpread,
    ) -> npt.NDArray[np.complex64]:
        """Return the lines of the band at its instants' frequencies, shape (rows, instants)."""
        low, high = self._first_above_edge[band], self._first_above_edge[band + 2]
        instants = self._instants[band]
        if band < _RECTIFIED_BANDS:
            # What does not fit lies 100 dB and more below the band.
            instants = instants // 2 + 1
            last = min(last, instants - 1)
        folded = np.zeros((len(lines), instants), dtype=np.complex64)
        if spread.first < low:
            gain = spread.gain[:, spread.first : low]
            heard = gain * gain * power[:, spread.first : low] > self._edge_threshold[band]
            _fold(folded, spread.first, lines[:, spread.first : low] * (gain * heard))
        _fold(folded, low, lines[:, low : min(high, last)])
        if high < last:
            distance = self._rate_bark[high:last] - self._edge_bark[band + 2]
            fall = (10 ** (_DOWNWARD_DB / 20 * distance)).astype(np.float32)
            heard = power[:, high:last] > self._edge_threshold[band + 2] / fall**2
            _fold(folded, high, lines[:, high:last] * (fall * heard))
        return folded

    def _envelope(
        self, band: int, excitation: npt.NDArray[np.complex64]
    ) -> tuple[npt.NDArray[np.complex64], npt.NDArray[np.float32]]:
        """Return the weighted envelope's spectrum, scaled to unit power, and its depth."""
        if band < _RECTIFIED_BANDS:
            rectified = np.abs(fft.irfft(excitation, self._instants[band], overwrite_x=True))
        else:
            course = fft.ifft(excitation, overwrite_x=True)
            rectified = np.sqrt(course.real**2 + course.imag**2)
        weights = self._modulation_weights[band]
        spectrum = fft.rfft(rectified)[:, : len(weights)]
        mean = spectrum[:, 0].real.copy()
        spectrum *= weights
        effective = np.sqrt((spectrum.real**2 + spectrum.imag**2).sum(axis=1))
        scale = np.divide(1, effective, out=np.zeros_like(effective), where=effective > 0)
        depth = np.divide(
            np.sqrt(np.float32(2)) * effective, mean, out=np.zeros_like(mean), where=mean > 0
        )
        return spectrum * scale[:, None], np.minimum(depth, 1)


def _power(level_db: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    return REFERENCE_PRESSURE_PA**2 * 10 ** (level_db / 10)


def _instants(band: int, resolution_hz: float) -> int:
    centre_bark = (band + 1) * BAND_STEP_BARK
    low_hz, edge_hz, high_hz = hertz(centre_bark + np.array([-2.0, 0.5, 1.5]))
    if band < _RECTIFIED_BANDS:
        rate_hz = max(12 * edge_hz, 4 * HIGHEST_MODULATION_HZ)
    else:
        rate_hz = 1.5 * (high_hz - low_hz) + HIGHEST_MODULATION_HZ
    return int(fft.next_fast_len(round(rate_hz / resolution_hz), real=band < _RECTIFIED_BANDS))


def _fold(folded: npt.NDArray[np.complex64], first: int, values: npt.NDArray[np.complex64]) -> None:
    instants = folded.shape[1]
    taken = 0
    while taken < values.shape[1]:
        # Line 0 of the array lies one line above 0 Hz.
        start = (first + 1 + taken) % instants
        count = min(instants - start, values.shape[1] - taken)
        folded[:, start : start + count] += values[:, taken : taken + count]
        taken += count
