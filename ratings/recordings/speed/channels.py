"""Speed traces from a channel of the recording itself: a voltage, or pulses of a wheel."""

from pathlib import Path

import numpy as np
import numpy.typing as npt

from ratings.errors import RecordingError
from ratings.recordings.opening import OpenRecording, open_recording, shown_name
from ratings.recordings.speed.record import SpeedRecord, checked_trace
from ratings.study.constants import KM_H_PER_M_S

MEAN_OVER_S = 0.1
"""One point of the trace stands for so long; 0.3 km/h at 1 m/s2 (own choice)."""
LOWEST_SPEED_KM_H = -1.0
"""Down to here a voltage below zero is the noise of a standing car and counts as 0."""
_LEAST_PULSE = 0.01
_LEAST_PULSES = 3

Series = npt.NDArray[np.float64]


def speed_from_channel(
    path: Path, channel: int, km_h_per_unit: float, km_h_at_zero: float = 0.0, offset_s: float = 0.0
) -> SpeedRecord:
    """Read the speed from a channel whose value follows it; memory grows with 10 points a second.

    Parameters
    ----------
    channel
        Counted from 0.
    km_h_per_unit
        Speed at the value 1.0 of the samples as they are read: full scale in sound files, one of
        the channel's unit in measurement files.
    km_h_at_zero
        Speed at the value 0.
    offset_s
        Added to the times.

    Returns
    -------
    Means over 0.1 s, each at the middle of its tenth.

    Raises
    ------
    RecordingError
        When there is no such channel, the factor is no number other than 0, or the speed falls
        below -1 km/h.
    """
    if not (np.isfinite(km_h_per_unit) and np.isfinite(km_h_at_zero)) or km_h_per_unit == 0.0:
        raise RecordingError(
            "The factor from the channel's value to km/h must be a number other than 0.",
            "Enter the speed that full scale of the channel stands for.",
        )
    with open_recording(path) as recording:
        _refuse_missing(recording, channel)
        values, sample_rate_hz = _means(recording, channel)
    speed_km_h = values * km_h_per_unit + km_h_at_zero
    at_rest = (speed_km_h < 0.0) & (speed_km_h >= LOWEST_SPEED_KM_H)
    speed_km_h[at_rest] = 0.0
    frames = round(MEAN_OVER_S * sample_rate_hz)
    times_s = (np.arange(len(values)) + 0.5) * frames / sample_rate_hz
    remarks = [f"speed from channel {channel + 1}, means over {MEAN_OVER_S:g} s"]
    if at_rest.any():
        remarks.append(f"{np.count_nonzero(at_rest)} speeds just below zero count as standing")
    return SpeedRecord(checked_trace(path, times_s, speed_km_h), tuple(remarks)).shifted(offset_s)


def speed_from_pulses(
    path: Path, channel: int, pulses_per_metre: float, offset_s: float = 0.0
) -> SpeedRecord:
    """Read the speed from a channel that rises once per pulse of a wheel or sensor.

    Parameters
    ----------
    channel
        Counted from 0.
    pulses_per_metre
        Pulses per turn over the rolling circumference, where the wheel counts.

    Returns
    -------
    Way over time between instants of at least 0.1 s distance at which a pulse rose, each at the
    middle between the two.

    Raises
    ------
    RecordingError
        When there is no such channel, the number is not above 0, or there are too few pulses.
    """
    if not (np.isfinite(pulses_per_metre) and pulses_per_metre > 0.0):
        raise RecordingError(
            "The number of pulses per metre must be above 0.",
            "Divide the pulses per turn by the rolling circumference in metres.",
        )
    with open_recording(path) as recording:
        _refuse_missing(recording, channel)
        rises_s = _rises_s(recording, channel)
    # Every pulse that is the first one of a new tenth of a second.
    _, chosen = np.unique(np.floor(rises_s / MEAN_OVER_S), return_index=True)
    if len(chosen) < _LEAST_PULSES:
        raise RecordingError(
            f"Channel {channel + 1} of {shown_name(path)} holds too few pulses to tell a speed.",
            "Check the channel, or give the speed as a file.",
        )
    instants_s = rises_s[chosen]
    speed_m_s = np.diff(chosen) / pulses_per_metre / np.diff(instants_s)
    middles_s = (instants_s[1:] + instants_s[:-1]) / 2
    trace = checked_trace(path, middles_s, speed_m_s * KM_H_PER_M_S)
    return SpeedRecord(trace, (f"speed from the pulses of channel {channel + 1}",)).shifted(
        offset_s
    )


def _refuse_missing(recording: OpenRecording, channel: int) -> None:
    if not 0 <= channel < recording.channels:
        raise RecordingError(
            f"{shown_name(recording.path)} has no channel {channel + 1}; "
            f"it has {recording.channels}.",
            "Choose the channel of the speed again.",
        )


def _means(recording: OpenRecording, channel: int) -> tuple[Series, int]:
    frames = round(MEAN_OVER_S * recording.sample_rate_hz)
    means, carried = [], np.empty(0)
    for block in recording.blocks():
        values = np.concatenate([carried, block[:, channel]])
        whole = len(values) // frames * frames
        means.append(values[:whole].reshape(-1, frames).mean(axis=1))
        carried = values[whole:]
    return np.concatenate(means), recording.sample_rate_hz


def _rises_s(recording: OpenRecording, channel: int) -> Series:
    """Give the instants at which the channel passes its middle upwards, between the frames."""
    low, high = np.inf, -np.inf
    for block in recording.blocks():
        low, high = min(low, block[:, channel].min()), max(high, block[:, channel].max())
    if high - low < _LEAST_PULSE:
        return np.empty(0)
    middle, quarter = (low + high) / 2, (high - low) / 4
    rises, frame, last, is_armed = [], 0, np.empty(0), False
    for block in recording.blocks():
        values = np.concatenate([last, block[:, channel]])
        found, is_armed = _rises(values, middle, middle - quarter, is_armed=is_armed)
        rises.append(found + frame - len(last))
        frame, last = frame + len(block), values[-1:]
    return np.concatenate(rises) / recording.sample_rate_hz


def _rises(values: Series, middle: float, lower: float, *, is_armed: bool) -> tuple[Series, bool]:
    """Give the places of rises through the middle since the last value below `lower`."""
    crossings = np.flatnonzero((values[:-1] < middle) & (values[1:] >= middle))
    lows = np.flatnonzero(values < lower)
    # Number of low values up to each crossing: a rise counts when there was one since the last.
    lows_before = np.searchsorted(lows, crossings, side="right")
    fresh = np.diff(lows_before, prepend=-1 if is_armed else 0) > 0
    step = values[crossings + 1] - values[crossings]
    places = crossings + (middle - values[crossings]) / step
    ends_armed = len(lows) > (lows_before[-1] if len(crossings) else 0)
    return places[fresh], bool(ends_armed or (is_armed and not len(crossings)))
