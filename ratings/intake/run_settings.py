"""What is said of a run that is in a study already, as a draft, and how a change of it is kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ratings.intake.new_runs import calibration_for, speed_source, words_of_channel
from ratings.intake.run_draft import (
    CalibrationDraft,
    FileDraft,
    SpeedDraft,
    speed_channel_problem,
)
from ratings.storage.recording_desk import RecordingDesk
from ratings.study.runs import (
    ChannelSetting,
    ConstantSpeed,
    Run,
    SpeedChannel,
    SpeedFile,
    SpeedPulses,
    SpeedSource,
)


def draft_of_run(desk: RecordingDesk, run: Run, channels: Sequence[ChannelSetting]) -> FileDraft:
    """Return what was said of a run, calibration and speed as they are kept.

    Parameters
    ----------
    channels
        From `RecordingDesk.channel_settings`.

    Raises
    ------
    StudyError
        When the study cannot be read.
    """
    return FileDraft(
        desk.run_file(run.recording_id),
        condition_id=run.condition.condition_id,
        roles=tuple(each.role for each in channels),
        calibration=CalibrationDraft("kept"),
        speed=SpeedDraft("kept"),
        note=desk.note(run.recording_id),
    )


def settings_shortcoming(draft: FileDraft) -> str:
    """Say what is missing before a changed draft can be kept; empty when nothing is."""
    calibration, speed = draft.calibration, draft.speed
    if calibration.kind == "factor" and not calibration.pa_per_full_scale:
        return "The factor is not given."
    if calibration.kind == "tones" and calibration.tone_before is None:
        return "The tone before the runs is not chosen."
    if speed.kind == "file" and speed.path is None:
        return "The file with the speed is not chosen."
    problem = speed_channel_problem(draft)
    return f"The speed of the run: {problem}." if problem else ""


def keep_settings(
    desk: RecordingDesk, run: Run, draft: FileDraft, before: tuple[ChannelSetting, ...]
) -> None:
    """Keep what a draft says otherwise than before; reads tone files.

    Raises
    ------
    RatingsError
        When a tone file cannot be used, the tones before and after do not agree, or the study
        cannot be written.
    """
    channels = changed_channels(before, draft)
    if channels != before:
        desk.set_channels(run.recording_id, channels)
    if draft.speed.kind != "kept":
        desk.set_speed(run.recording_id, speed_source(draft.speed, run.condition))
    if draft.note != desk.note(run.recording_id):
        desk.set_note(run.recording_id, draft.note)


def changed_channels(
    before: Sequence[ChannelSetting], draft: FileDraft
) -> tuple[ChannelSetting, ...]:
    """Return channels with the roles and the calibration of a draft.

    Raises
    ------
    RatingsError
        When a tone file cannot be used, or the tones before and after do not agree.
    """
    with_roles = tuple(
        replace(each, role=role) for each, role in zip(before, draft.roles, strict=True)
    )
    if draft.calibration.kind == "kept":
        return with_roles
    known = calibration_for(draft, None)
    return tuple(
        replace(each, pa_per_full_scale=factor, calibration=words_of_channel(known, number))
        for number, (each, factor) in enumerate(
            zip(with_roles, known.pa_per_full_scale, strict=True), start=1
        )
    )


def calibration_words(channels: Sequence[ChannelSetting]) -> str:
    """Say how the levels of a run are known."""
    words = list(dict.fromkeys(each.calibration or "not calibrated" for each in channels))
    return "; ".join(words)


def speed_words(source: SpeedSource | None) -> str:
    """Say how the speed of a run is known."""
    match source:
        case None:
            return "not known"
        case ConstantSpeed(speed_km_h):
            return f"steady at {speed_km_h:g} km/h"
        case SpeedFile():
            return "from a file of its own"
        case SpeedChannel(channel, km_h_per_unit):
            return f"channel {channel}, {km_h_per_unit:g} km/h per unit"
        case SpeedPulses(channel, pulses_per_metre):
            return f"channel {channel}, {pulses_per_metre:g} pulses per metre"
