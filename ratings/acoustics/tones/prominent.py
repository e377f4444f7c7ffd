"""Prominent tones of a spectrum by their tone-to-noise and prominence ratios."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from ratings.acoustics.audibility import bark, threshold_db
from ratings.acoustics.tones.bands import (
    TRUNCATED_BELOW_HZ,
    critical_band_hz,
    critical_bandwidth_hz,
    lower_band_hz,
    proximity_hz,
    sum_between,
    upper_band_hz,
)
from ratings.acoustics.tones.lines import StandingLine, standing_lines
from ratings.errors import MeasurementError
from ratings.study.constants import REFERENCE_PRESSURE_PA

LOWEST_HZ, HIGHEST_HZ = 89.1, 11_200.0
"""Range of the method: octave bands from 125 Hz to 8 kHz."""

_MOST_TONES: Final = 10
# Ratios end here: a computed tone without any noise has none.
_LEAST_SHARE: Final = 1e-12


@dataclass(frozen=True, slots=True)
class Tone:
    """One tone of one channel.

    Attributes
    ----------
    frequency_hz
        Of the strongest line.
    level_db
        Of the tone, together with tones so near that they are heard as one.
    tone_to_noise_db
        Level over that of the other sound in the critical band.
    prominence_db
        Level of the critical band over the mean of its two neighbours; NaN where the upper
        neighbour does not fit under half the sample rate.
    is_prominent_by_tnr, is_prominent_by_pr
        Whether either ratio meets the criterion for its frequency. The prominence ratio speaks
        for the strongest tone of a band only.
    """

    frequency_hz: float
    level_db: float
    tone_to_noise_db: float
    prominence_db: float
    is_prominent_by_tnr: bool
    is_prominent_by_pr: bool


def prominent_tones(
    power_spectrum_pa2: npt.NDArray[np.float64],
    resolution_hz: float,
    reference: float = REFERENCE_PRESSURE_PA,
    most: int = _MOST_TONES,
) -> tuple[tuple[Tone, ...], ...]:
    """Return the tones of each channel, largest tone-to-noise ratio first.

    Parameters
    ----------
    power_spectrum_pa2
        Shape (channels, lines), the first line at 0 Hz: the share of the mean square in each
        line, averaged under a Hann window, as `SpectrumMeter` gives it.
    resolution_hz
        Distance of the lines, about 1 Hz. Where it is coarser, low tones cannot be told from
        their band and are left out.
    reference
        1.0 for a spectrum relative to full scale; the threshold of hearing then plays no part.
    most
        No more tones are returned for a channel.

    Returns
    -------
    Tones with a tone-to-noise ratio above 0 dB or a prominence ratio that meets its criterion;
    which of them are prominent is said in each.

    Raises
    ------
    MeasurementError
        When the spectrum holds something that is not a number.

    Notes
    -----
    A tone that drifts while the spectrum is averaged, such as a pattern order at changing speed,
    smears over many lines: what lies beyond 15 % of the critical band counts as noise, and the
    ratio reads too low. Cut a stretch of steady speed for it. Broad humps are no tones.

    References
    ----------
    ECMA-418-1 (formerly ECMA-74 annex D): bandwidths, neighbouring bands, nearness of tones,
    criteria; formulas from memory, compared with an open implementation. The way of finding
    lines is common practice, no source. Threshold in quiet: Zwicker and Fastl 1990, figure 2.1.
    """
    if not np.isfinite(power_spectrum_pa2).all():
        raise MeasurementError("The spectrum holds values that are not numbers.")
    return tuple(_of_channel(power, resolution_hz, reference, most) for power in power_spectrum_pa2)


def tone_to_noise_criterion_db(frequency_hz: float) -> float:
    """Return the tone-to-noise ratio from which a tone is prominent."""
    return 8.0 + 8.33 * max(0.0, math.log10(1000 / frequency_hz))


def prominence_criterion_db(frequency_hz: float) -> float:
    """Return the prominence ratio from which a tone is prominent."""
    return 9.0 + 10.0 * max(0.0, math.log10(1000 / frequency_hz))


def _of_channel(
    power: npt.NDArray[np.float64], resolution_hz: float, reference: float, most: int
) -> tuple[Tone, ...]:
    lines = standing_lines(power, resolution_hz, LOWEST_HZ, HIGHEST_HZ)
    spectrum = _Spectrum(power, resolution_hz, lines)
    waiting = [line for line in lines if LOWEST_HZ <= line.frequency_hz <= HIGHEST_HZ]
    tones: list[Tone] = []
    while waiting:
        line = waiting.pop(0)
        near = [other for other in waiting if _are_one(line, other)]
        waiting = [other for other in waiting if other not in near]
        tone_power = line.power + sum(other.power for other in near)
        level_db = 10 * math.log10(tone_power / reference**2)
        if reference == REFERENCE_PRESSURE_PA and level_db < _threshold_db(line):
            continue
        is_highest = line is _highest_in_band(line.frequency_hz, lines)
        tone = _rated(line.frequency_hz, level_db, tone_power, spectrum, is_highest)
        if tone.tone_to_noise_db > 0 or tone.is_prominent_by_pr:
            tones.append(tone)
    return tuple(sorted(tones, key=lambda tone: -tone.tone_to_noise_db)[:most])


class _Spectrum:
    """The power of one channel, and the noise that is left when the lines of tones are out."""

    def __init__(
        self, power: npt.NDArray[np.float64], resolution_hz: float, tones: list[StandingLine]
    ) -> None:
        self._power = power
        self._resolution_hz = resolution_hz
        self._is_noise = np.ones(len(power))
        for tone in tones:
            self._is_noise[tone.lines] = 0
        self._noise = power * self._is_noise
        self.highest_hz = (len(power) - 0.5) * resolution_hz

    def power(self, low_hz: float, high_hz: float) -> float:
        return sum_between(self._power, self._resolution_hz, low_hz, high_hz)

    def noise(self, low_hz: float, high_hz: float) -> float:
        """Return the power of the noise, with the gaps under the tones filled alike."""
        free = sum_between(self._is_noise, self._resolution_hz, low_hz, high_hz)
        noise = sum_between(self._noise, self._resolution_hz, low_hz, high_hz)
        return noise * (high_hz - low_hz) / (max(free, 1.0) * self._resolution_hz)


def _highest_in_band(frequency_hz: float, lines: list[StandingLine]) -> StandingLine:
    low_hz, high_hz = critical_band_hz(frequency_hz)
    inside = (line for line in lines if low_hz < line.frequency_hz < high_hz)
    return max(inside, key=lambda line: line.power)


def _rated(
    frequency_hz: float, level_db: float, power: float, spectrum: _Spectrum, is_highest: bool
) -> Tone:
    # All lines of tones are out, also of a second one in the band that is heard by itself.
    noise = spectrum.noise(*critical_band_hz(frequency_hz))
    tone_to_noise_db = 10 * math.log10(power / max(noise, _LEAST_SHARE * power))
    prominence_db = _prominence_db(frequency_hz, spectrum)
    return Tone(
        frequency_hz=frequency_hz,
        level_db=level_db,
        tone_to_noise_db=tone_to_noise_db,
        prominence_db=prominence_db,
        is_prominent_by_tnr=tone_to_noise_db >= tone_to_noise_criterion_db(frequency_hz),
        is_prominent_by_pr=is_highest and prominence_db >= prominence_criterion_db(frequency_hz),
    )


def _prominence_db(frequency_hz: float, spectrum: _Spectrum) -> float:
    lower_hz, upper_hz = lower_band_hz(frequency_hz), upper_band_hz(frequency_hz)
    if upper_hz[1] > spectrum.highest_hz:
        return math.nan
    middle = spectrum.power(*critical_band_hz(frequency_hz))
    lower = spectrum.power(*lower_hz)
    if frequency_hz < TRUNCATED_BELOW_HZ:
        lower *= 100 / (lower_hz[1] - lower_hz[0])
    neighbours = 0.5 * (lower + spectrum.power(*upper_hz))
    return 10 * math.log10(middle / max(neighbours, _LEAST_SHARE * middle))


def _are_one(line: StandingLine, other: StandingLine) -> bool:
    # Above 1 kHz nearness is half the band, whose edges lie at unequal distances.
    distance_hz = abs(other.frequency_hz - line.frequency_hz)
    limit_hz = min(proximity_hz(line.frequency_hz), critical_bandwidth_hz(line.frequency_hz) / 2)
    return distance_hz < limit_hz


def _threshold_db(line: StandingLine) -> float:
    return float(threshold_db(bark(np.array([line.frequency_hz])))[0])
