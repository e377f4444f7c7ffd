"""What was measured of one recording."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.acoustics.level_meter import PERCENTILES, Levels
from ratings.acoustics.narrow_band import NarrowBandSpectrum
from ratings.acoustics.rolling.cavity_line import CavityLine
from ratings.acoustics.rolling.cavity_prediction import CavityPrediction
from ratings.acoustics.rolling.coast_down import CoastDownMap
from ratings.acoustics.rolling.line_confounders import PassedOver
from ratings.acoustics.rolling.pattern_orders import PitchOrder
from ratings.acoustics.third_octaves import THIRD_OCTAVES
from ratings.acoustics.time_map import TimeMap
from ratings.acoustics.tones.prominent import Tone
from ratings.measuring.coasting import CoastDownFindings
from ratings.measuring.hearing import HearingFigures, HearingMeasurement
from ratings.measuring.settings import MeasuringSettings
from ratings.study.figures import Remark


@dataclass(frozen=True, slots=True)
class PatternOrder:
    """A multiple of the tread's pitches on one channel; see `PitchOrder`.

    Level, found order and slip are NaN where no order stands out.
    """

    harmonic: int
    order: float
    frequency_hz: float
    found_order: float
    slip_percent: float
    level_db: float
    prominence_db: float
    stands_out: bool
    has_neighbours: bool


@dataclass(frozen=True, slots=True)
class ChannelFigures:
    """The figures of one channel; levels in dB re 20 uPa, or re full scale when not calibrated.

    Attributes
    ----------
    number
        Counted from 1 in the recording.
    fast_exceeded_a_db, slow_exceeded_a_db
        A-weighted levels exceeded for a share of the time, as ``l5`` to ``l95``, with the time
        weightings Fast and Slow.
    third_octave_db, band_db, band_a_db
        By nominal frequency and by key of the band; NaN where it does not fit under half the
        sample rate.
    hearing
        Loudness and its kin; None when the recording is not calibrated.
    predicted_cavity_hz
        Empty without a tyre size.
    """

    number: int
    is_level_true: bool
    clipped_samples: int
    leq_db: float
    leq_a_db: float
    leq_c_db: float
    fast_max_a_db: float
    slow_max_a_db: float
    fast_exceeded_a_db: dict[str, float]
    slow_exceeded_a_db: dict[str, float]
    third_octave_db: dict[str, float]
    band_db: dict[str, float]
    band_a_db: dict[str, float]
    hearing: HearingFigures | None
    tones: tuple[Tone, ...]
    predicted_cavity_hz: tuple[float, ...]
    cavity_line: CavityLine | None
    cavity_passed_over: tuple[PassedOver, ...]
    pattern_orders: tuple[PatternOrder, ...]
    coasting: CoastDownFindings | None


@dataclass(frozen=True, slots=True, eq=False)
class Measurement:
    """Everything measured of one recording, arrays by measured channel.

    Attributes
    ----------
    name
        File name without folder.
    numbers
        The measured channels, counted from 1 in the recording.
    is_level_true, clipped_samples
        One for each measured channel.
    spectrum
        Narrow-band spectrum, calibrated channels in pascal squared; the others scaled so that
        full scale counts as 20 uPa: a level re 20 uPa is then the one re full scale.
    time_map
        Spectra over time, up to 120 rows, scaled likewise; None for a coast-down, whose map goes
        by speed.
    hearing
        Loudness, sharpness and roughness of the calibrated channels; None when there are none.
    prediction
        None without a tyre size.
    pitch_orders
        Empty without a tyre size, a pitch count and a speed.
    coast_down
        None unless the speed falls over the recording.
    coasting
        What the coast-down tells, one for each measured channel; empty without one.
    remarks
        What quality control has to say, in words.
    """

    name: str
    sample_rate_hz: int
    duration_s: float
    settings: MeasuringSettings
    numbers: tuple[int, ...]
    is_level_true: tuple[bool, ...]
    clipped_samples: tuple[int, ...]
    levels: Levels
    spectrum: NarrowBandSpectrum
    time_map: TimeMap | None
    hearing: HearingMeasurement | None
    tones: tuple[tuple[Tone, ...], ...]
    prediction: CavityPrediction | None
    cavity_lines: tuple[CavityLine | None, ...]
    cavity_passed_over: tuple[tuple[PassedOver, ...], ...]
    pitch_orders: tuple[PitchOrder, ...]
    coast_down: CoastDownMap | None
    coasting: tuple[CoastDownFindings, ...]
    remarks: tuple[Remark, ...]

    def by_channel(self) -> Iterator[ChannelFigures]:
        """Give the figures channel by channel."""
        for column, number in enumerate(self.numbers):
            yield ChannelFigures(
                number=number,
                is_level_true=self.is_level_true[column],
                clipped_samples=self.clipped_samples[column],
                leq_db=float(self.levels.leq_db[column]),
                leq_a_db=float(self.levels.leq_a_db[column]),
                leq_c_db=float(self.levels.leq_c_db[column]),
                fast_max_a_db=float(self.levels.fast_max_a_db[column]),
                slow_max_a_db=float(self.levels.slow_max_a_db[column]),
                fast_exceeded_a_db=_by_share(self.levels.fast_exceeded_a_db[column]),
                slow_exceeded_a_db=_by_share(self.levels.slow_exceeded_a_db[column]),
                third_octave_db=_named(
                    (third.name for third in THIRD_OCTAVES), self.levels.third_octave_db[column]
                ),
                band_db=self._by_band(self.levels.band_db[column]),
                band_a_db=self._by_band(self.levels.band_a_db[column]),
                hearing=None if self.hearing is None else self.hearing.of_channel(number),
                tones=self.tones[column],
                predicted_cavity_hz=() if self.prediction is None else self.prediction.lines_hz,
                cavity_line=self.cavity_lines[column],
                cavity_passed_over=self.cavity_passed_over[column],
                pattern_orders=tuple(
                    PatternOrder(
                        harmonic=each.harmonic,
                        order=each.order,
                        frequency_hz=each.frequency_hz,
                        found_order=float(each.found_order[column]),
                        slip_percent=float(each.slip_percent[column]),
                        level_db=float(each.level_db[column]),
                        prominence_db=float(each.prominence_db[column]),
                        stands_out=bool(each.stands_out[column]),
                        has_neighbours=bool(each.has_neighbours[column]),
                    )
                    for each in self.pitch_orders
                ),
                coasting=self.coasting[column] if self.coasting else None,
            )

    def _by_band(self, levels_db: npt.NDArray[np.float64]) -> dict[str, float]:
        return _named((band.key for band in self.settings.bands.bands), levels_db)


def _by_share(levels_db: npt.NDArray[np.float64]) -> dict[str, float]:
    return _named((f"l{share}" for share in PERCENTILES), levels_db)


def _named(names: Iterator[str], values: npt.NDArray[np.float64]) -> dict[str, float]:
    return dict(zip(names, values.tolist(), strict=True))
