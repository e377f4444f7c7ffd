"""What a sample of the clips stands for: calibrations of the recordings, one full scale for all."""

import math
from collections.abc import Mapping
from dataclasses import replace

from ratings.clips.prepared import TakenRecording
from ratings.design.study_plan import ChosenRecording, calibration_shortcoming
from ratings.errors import RecordingError
from ratings.recordings.opening import shown_name

OWN_UNITS = "pascal by the file's own units"

_ROOM_DB = 1.0
"""Kept above the highest sample, which a change of the sample rate may raise (own choice)."""

Taken = Mapping[ChosenRecording, TakenRecording]


def calibrated(taken: Taken) -> dict[ChosenRecording, TakenRecording]:
    """Let files that say their pascal by themselves speak, where the lead gave no calibration.

    Raises
    ------
    DesignError
        When only some of them do.
    RecordingError
        When the two ears of a file are in different units.
    """
    if any(recording.pa_per_full_scale is not None for recording in taken):
        return dict(taken)
    factors = [_own_factor(recording, each) for recording, each in taken.items()]
    problem = calibration_shortcoming(factors)
    if problem is not None:
        raise problem
    return {
        recording
        if factor is None
        else replace(recording, pa_per_full_scale=factor, calibration=OWN_UNITS): each
        for (recording, each), factor in zip(taken.items(), factors, strict=True)
    }


def clip_full_scale_pa(taken: Taken, gain_db: float = 0.0) -> float | None:
    """Give the pascal that a sample of 1.0 stands for in every clip; None when not calibrated.

    That of the least sensitive recording, so that no clip is made louder; more where recordings
    hold samples above 1.0, as those in pascal do, in whole decibels.

    Parameters
    ----------
    gain_db
        By which the lead has all clips lowered; the full scale rises by as much, so that levels
        stay true.
    """
    factors = [recording.pa_per_full_scale for recording in taken]
    known = [factor for factor in factors if factor is not None]
    if not known:
        return None
    largest = max(known)
    peak_pa = max(
        (recording.pa_per_full_scale or 0.0) * _peak(recording, each)
        for recording, each in taken.items()
    )
    if peak_pa > largest:
        largest = float(10 ** (math.ceil(20 * math.log10(peak_pa) + _ROOM_DB) / 20))
    return largest if gain_db == 0.0 else float(largest * 10 ** (-gain_db / 20))


def clip_gain_db(
    recording: ChosenRecording, full_scale_pa: float | None, gain_db: float = 0.0
) -> float:
    """Give the gain that brings a recording to the full scale of the clips.

    Parameters
    ----------
    gain_db
        Of all clips; where the recordings are calibrated, `full_scale_pa` has it in already.
    """
    factor = recording.pa_per_full_scale
    if factor is None or full_scale_pa is None:
        return gain_db
    if factor == full_scale_pa:
        return 0.0
    return 20 * math.log10(factor / full_scale_pa)


def _own_factor(recording: ChosenRecording, taken: TakenRecording) -> float | None:
    left, right = recording.ears(taken.facts.channels)
    own = taken.facts.pa_per_full_scale
    if not (left < len(own) and right < len(own)):
        return None
    if own[left] != own[right]:
        raise RecordingError(
            f"{shown_name(recording.path)} gives channel {left + 1} and channel {right + 1} in "
            "different units, and a clip has one scale for both ears.",
            "Choose other channels for the ears, or export both in the same unit.",
        )
    return own[left]


def _peak(recording: ChosenRecording, taken: TakenRecording) -> float:
    ears = recording.ears(taken.facts.channels)
    by_channel = taken.facts.by_channel
    return max(by_channel[ear].peak_full_scale for ear in ears if ear < len(by_channel))
