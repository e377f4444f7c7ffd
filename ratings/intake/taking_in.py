"""The files of a new study copied into its folder: recordings, speed traces, the equaliser."""

from dataclasses import replace
from pathlib import Path

from ratings.clips.equaliser import Equaliser, read_equaliser
from ratings.clips.sources import ClipSource, clip_source
from ratings.design.streams import stream
from ratings.design.study_plan import ChosenRecording, StudyPlan
from ratings.errors import RecordingError, StudyError, reason_of
from ratings.recordings.opening import shown_name
from ratings.recordings.read import SoundFacts, content_hash, describe
from ratings.recordings.refusals import told_by_its_own_name
from ratings.storage.blind_study import StudyFolder
from ratings.storage.file_copies import copy_checked
from ratings.storage.run_rows import stored_name
from ratings.study.progress import Progress
from ratings.study.runs import SpeedFile


def take_in_recordings(
    folder: StudyFolder, plan: StudyPlan, progress: Progress
) -> dict[ChosenRecording, ClipSource]:
    """Describe the recordings of a plan and copy them, with their speed traces.

    Raises
    ------
    RecordingError
        When a file cannot be used, or is there twice.
    StudyError
        When it cannot be copied.
    """
    taken: dict[ChosenRecording, ClipSource] = {}
    for number, recording in enumerate(plan.recordings):
        progress(0.2 * number / len(plan.recordings), f"Reading {recording.path.name}")
        facts = describe(recording.path)
        for other, known in taken.items():
            if known.facts.content_hash == facts.content_hash:
                raise RecordingError(
                    f"{recording.path.name} holds the same recording as {other.path.name}.",
                    "Choose the right file for each set; nothing was made yet.",
                )
        taken[recording] = _in_folder(folder, recording, facts)
    # Copied in random order: neither place nor time in the folder tells which set it was.
    order = stream(plan.seed, "copying").permutation(len(taken)).tolist()
    for number, index in enumerate(order):
        recording = plan.recordings[index]
        progress(0.2 + 0.2 * number / len(order), f"Copying {recording.path.name}")
        each = taken[recording]
        _copy(recording.path, each.file, each.facts.content_hash)
        if isinstance(recording.speed, SpeedFile) and each.speed_copy and each.speed_hash:
            _copy(recording.speed.path, each.speed_copy, each.speed_hash)
    return taken


def take_in_equaliser(folder: StudyFolder, original: Path) -> Equaliser:
    """Copy the headphones' equaliser under its content and read it.

    Raises
    ------
    RecordingError
        When it holds no taps of a filter.
    StudyError
        When it cannot be copied.
    """
    name = stored_name(content_hash(original), original)
    copy = folder.equalisers / name
    try:
        folder.equalisers.mkdir(exist_ok=True)
    except OSError as problem:
        raise StudyError(
            f"The folder {folder.equalisers.name} cannot be made: {reason_of(problem)}.",
            "Choose a place where you may write and that has space.",
        ) from problem
    copy_checked(original, copy, lambda _: None)
    with told_by_its_own_name(copy, original):
        return read_equaliser(copy)


def _in_folder(folder: StudyFolder, recording: ChosenRecording, facts: SoundFacts) -> ClipSource:
    source = clip_source(
        recording.path,
        recording.left_channel,
        recording.right_channel,
        recording.pa_per_full_scale,
        recording.speed,
        facts,
    )
    copy = folder.recordings / stored_name(facts.content_hash, recording.path)
    if not isinstance(recording.speed, SpeedFile):
        return replace(source, copy=copy)
    speed_hash = content_hash(recording.speed.path)
    speed_copy = folder.recordings / stored_name(speed_hash, recording.speed.path)
    return replace(source, copy=copy, speed_copy=speed_copy, speed_hash=speed_hash)


def _copy(original: Path, destination: Path, told_hash: str) -> None:
    # Two recordings may share a trace of speed.
    if destination.exists():
        return
    if copy_checked(original, destination, lambda _: None) != told_hash:
        raise RecordingError(
            f"{shown_name(original)} changed while the study was being made.",
            "Wait until nothing writes to it any more, then make the study again.",
        )
