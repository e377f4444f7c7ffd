"""Loudness over time of a whole recording, in one pass."""

from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

from ratings.acoustics.loudness import tables
from ratings.acoustics.loudness.channel_group import (
    SETTLING_FRAMES,
    TIME_STEP_FRAMES,
    ChannelGroup,
)
from ratings.acoustics.loudness.core_loudness import Field
from ratings.acoustics.loudness.stationary import loudness_of_powers
from ratings.errors import MeasurementError

TIME_STEP_S = 0.002
"""Step of the loudness over time (ISO 532-1:2017, clause 6)."""

# Channels measured at once: more would not be quicker, and take more memory.
_GROUP_CHANNELS = 8
# 194 dB, where air pressure falls to nothing; far above what the standard can judge.
_HIGHEST_PRESSURE_PA = 1e5


@dataclass(frozen=True, slots=True, eq=False)
class Loudness:
    """Loudness of a recording, each of shape (channels,) unless said otherwise.

    Attributes
    ----------
    n_sone, loudness_level_phon
        Of the whole recording, taken as one steady sound (ISO 532-1:2017, clause 5); the first
        0.5 s are left out where the recording lasts 1 s or more: one that is cut from the middle
        of a drive begins with a blow.
    n5_sone, n10_sone, n50_sone, n90_sone, nmax_sone
        Exceeded for 5, 10, 50 and 90 % of the time, and the highest, of the loudness over time
        (clause 6).
    time_history_sone
        Shape (times, channels), every 2 ms from the first sample on.
    specific_loudness, mean_specific_loudness
        Shape (channels, 240) in sone per Bark, every 0.1 Bark from 0.1 to 24 Bark: of the steady
        sound, and averaged over time (one value every 8 ms).
    sharpness_acum
        DIN 45692 on `specific_loudness`; NaN where nothing can be heard.
    """

    n_sone: npt.NDArray[np.float64]
    loudness_level_phon: npt.NDArray[np.float64]
    n5_sone: npt.NDArray[np.float64]
    n10_sone: npt.NDArray[np.float64]
    n50_sone: npt.NDArray[np.float64]
    n90_sone: npt.NDArray[np.float64]
    nmax_sone: npt.NDArray[np.float64]
    time_history_sone: npt.NDArray[np.float64]
    specific_loudness: npt.NDArray[np.float64]
    mean_specific_loudness: npt.NDArray[np.float64]
    sharpness_acum: npt.NDArray[np.float64]


class LoudnessMeter:
    """Measures loudness block by block; of the recording it keeps the loudness over time only.

    Parameters
    ----------
    sample_rate_hz, channels
        Of the blocks; the standard's filters are given for 48 kHz.
    field
        Free for sound from the front, diffuse for sound from everywhere, as inside a car.

    Raises
    ------
    MeasurementError
        When the sample rate is not 48 kHz.

    Notes
    -----
    The beginning is a rise from silence, as in the standard's program: a recording cut from a loud
    passage may have its highest value there. A recorder's constant offset is no sound and is
    taken off, where it exceeds the rms of the rest in the first 5 s. Channels are measured eight
    at a time.

    References
    ----------
    ISO 532-1:2017, clauses 5 and 6.
    """

    def __init__(self, sample_rate_hz: int, channels: int, field: Field = "diffuse") -> None:
        if sample_rate_hz != tables.SAMPLE_RATE_HZ:
            raise MeasurementError(
                f"Loudness is measured at 48 kHz, and this signal has {sample_rate_hz} Hz.",
                "Convert the signal to 48 kHz first.",
            )
        self._field: Field = field
        self._frames = 0
        starts = range(0, channels, _GROUP_CHANNELS)
        self._members = [slice(start, min(start + _GROUP_CHANNELS, channels)) for start in starts]
        self._groups = [ChannelGroup(part.stop - part.start, field) for part in self._members]

    def feed(self, pressure_pa: npt.NDArray[np.float64]) -> None:
        """Take a block, shape (frames, channels).

        Raises
        ------
        MeasurementError
            When there are values that are not numbers, or too large for sound in air.
        """
        _refuse_immeasurable(pressure_pa)
        for members, group in zip(self._members, self._groups, strict=True):
            group.feed(pressure_pa[:, members])
        self._frames += len(pressure_pa)

    def result(self) -> Loudness:
        """Return the loudness; nothing can be fed afterwards.

        Raises
        ------
        MeasurementError
            When there are less than 2 ms of sound.
        """
        if self._frames < TIME_STEP_FRAMES:
            raise MeasurementError("There is no loudness to measure: the sound is under 2 ms long.")
        found = [self._loudness(group) for group in self._groups]
        joined = {
            part.name: np.concatenate([getattr(one, part.name) for one in found])
            for part in fields(Loudness)
            if part.name != "time_history_sone"
        }
        return Loudness(
            time_history_sone=np.hstack([one.time_history_sone for one in found]), **joined
        )

    def _loudness(self, group: ChannelGroup) -> Loudness:
        group.finish()
        course = np.concatenate(group.course, axis=1)[:, : self._frames // TIME_STEP_FRAMES]
        energy, frames = group.energy, self._frames
        if frames >= 2 * SETTLING_FRAMES:
            energy, frames = energy - group.settling_energy, frames - SETTLING_FRAMES
        steady = loudness_of_powers(energy / (frames / tables.SAMPLE_RATE_HZ), self._field)
        exceeded = np.percentile(course, [95, 90, 50, 10], axis=1)
        return Loudness(
            n_sone=steady.n_sone,
            loudness_level_phon=steady.loudness_level_phon,
            n5_sone=exceeded[0],
            n10_sone=exceeded[1],
            n50_sone=exceeded[2],
            n90_sone=exceeded[3],
            nmax_sone=course.max(axis=1),
            time_history_sone=course.T,
            specific_loudness=steady.specific_loudness,
            mean_specific_loudness=group.pattern_sum.T / group.pattern_times,
            sharpness_acum=steady.sharpness_acum,
        )


def _refuse_immeasurable(pressure_pa: npt.NDArray[np.float64]) -> None:
    if len(pressure_pa) and not np.abs(pressure_pa).max() <= _HIGHEST_PRESSURE_PA:
        raise MeasurementError(
            "The signal holds values that are not numbers or no possible sound pressure.",
            "Check the calibration, or export the recording again from the recorder's own file.",
        )


def loudness(
    pressure_pa: npt.NDArray[np.float64], sample_rate_hz: int, field: Field = "diffuse"
) -> Loudness:
    """Measure a whole signal, shape (frames, channels); see `LoudnessMeter`."""
    meter = LoudnessMeter(sample_rate_hz, pressure_pa.shape[1], field)
    meter.feed(pressure_pa)
    return meter.result()
