"""Drafts of runs that become runs of a study: their calibration and speed, and the bringing in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from ratings.errors import RatingsError
from ratings.intake.run_draft import FileDraft, SpeedDraft
from ratings.storage.recording_desk import RecordingDesk
from ratings.study.figures import UNHEARD_ROLES
from ratings.study.progress import Progress, quiet
from ratings.study.runs import (
    ChannelSetting,
    ConstantSpeed,
    NewRun,
    SpeedChannel,
    SpeedFile,
    SpeedPulses,
    SpeedSource,
)
from ratings.study.sets import Condition

if TYPE_CHECKING:
    from ratings.recordings.channel_calibration import Calibration
    from ratings.recordings.read import SoundFacts

#: A draft without a shortcoming, what its file is, and the condition it was driven in.
ReadyFile = tuple[FileDraft, "SoundFacts", Condition]


@dataclass(frozen=True, slots=True)
class Brought:
    """What has become of files so far; it is known after a cancel too.

    Attributes
    ----------
    paths
        Files that are runs now.
    refusals
        Files that could not be brought in, and why.
    """

    paths: list[Path] = field(default_factory=list)
    refusals: list[tuple[Path, RatingsError]] = field(default_factory=list)


def bring_runs(
    desk: RecordingDesk, files: Sequence[ReadyFile], brought: Brought, progress: Progress = quiet
) -> None:
    """Bring files into a study, one after the other; one that is refused does not stop the others.

    Parameters
    ----------
    brought
        Filled on the way.

    Raises
    ------
    Cancelled
        When `progress` asked for it; the file under way leaves nothing behind.
    """
    for place, (draft, facts, condition) in enumerate(files):
        step = _part_of(progress, f"File {place + 1} of {len(files)}", place, len(files))
        step(0.0, "")
        try:
            desk.bring_run(new_run(draft, facts, condition), step)
            brought.paths.append(draft.path)
        except RatingsError as problem:
            brought.refusals.append((draft.path, problem))


def _part_of(progress: Progress, words: str, place: int, count: int) -> Progress:
    """Place the steps of one file among those of all."""
    return lambda part, told: progress((place + part) / count, f"{words}. {told}".rstrip(". "))


def new_run(draft: FileDraft, facts: SoundFacts, condition: Condition) -> NewRun:
    """Make the run of a draft without a shortcoming; reads tone files.

    Raises
    ------
    RatingsError
        When a tone file cannot be used, or the tones before and after do not agree.
    """
    own = facts.pa_per_full_scale if draft.calibration.kind == "own" else None
    known = calibration_for(draft, own)
    return NewRun(
        path=draft.path,
        set_id=draft.set_id or 0,
        condition_id=condition.condition_id,
        channels=tuple(
            ChannelSetting(role, factor, words_of_channel(known, number))
            for number, (role, factor) in enumerate(
                zip(draft.roles, known.pa_per_full_scale, strict=True), start=1
            )
        ),
        note=draft.note,
        speed=speed_source(draft.speed, condition),
    )


def calibration_for(draft: FileDraft, own: Sequence[float | None] | None) -> Calibration:
    """Find the calibration of every channel of a draft; reads tone files.

    Parameters
    ----------
    own
        What the file itself says, one for each channel; None when that is not to count.

    Raises
    ------
    RatingsError
        When a tone file cannot be used, or the tones before and after do not agree.
    """
    # Inside, so that the page opens without the libraries for sound files.
    from ratings.recordings.channel_calibration import calibration_of

    chosen, count = draft.calibration, len(draft.roles)
    has_tones = chosen.kind == "tones"
    return calibration_of(
        count,
        (None,) * count if own is None else own,
        factor=chosen.pa_per_full_scale if chosen.kind == "factor" else None,
        tone=chosen.tone_before if has_tones else None,
        tone_after=chosen.tone_after if has_tones else None,
        tone_db=chosen.tone_db,
        run=draft.path,
        numbers=[n for n, role in enumerate(draft.roles, 1) if role not in UNHEARD_ROLES],
    )


def words_of_channel(known: Calibration, number: int) -> str:
    """Say how the level of a channel is known, with what is odd about its tone."""
    if known.pa_per_full_scale[number - 1] is None:
        return "not calibrated"
    remarks = [each.sentence for each in known.remarks if each.channel in (None, number)]
    return " ".join([f"{known.words}." if remarks else known.words, *remarks])


def speed_source(speed: SpeedDraft, condition: Condition) -> SpeedSource | None:
    """Return where a speed comes from; None when nothing was said of it."""
    if speed.kind == "steady" and condition.speed_km_h is not None:
        return ConstantSpeed(condition.speed_km_h)
    if speed.kind == "file" and speed.path is not None:
        return SpeedFile(speed.path, speed.offset_s)
    if speed.kind == "channel":
        return SpeedChannel(speed.channel, speed.km_h_per_unit)
    if speed.kind == "pulses":
        return SpeedPulses(speed.channel, speed.pulses_per_metre)
    return None
