"""A study made from a plan: recordings copied, clips cut, sessions drawn up."""

import contextlib
import math
import os
import shutil
from collections import Counter
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path

import numpy as np

from ratings.design.orders import blind_codes
from ratings.errors import RecordingError, StudyError, reason_of
from ratings.recordings.clip_files import FILE_TIME_S
from ratings.recordings.clips import (
    COAST_DOWN_CLIP_LENGTH_S,
    STEADY_CLIP_LENGTH_S,
    ClipCut,
    common_window,
    cut_clip,
)
from ratings.recordings.opening import shown_name
from ratings.recordings.read import SoundFacts, describe
from ratings.storage.database import connect, writing
from ratings.storage.file_copies import told_by_its_own_name
from ratings.storage.run_rows import stored_name
from ratings.storage.seating import seat_evaluator
from ratings.storage.study_folder import Study, StudyFolder, new_study_folder, open_study, utc_now
from ratings.storage.study_plan import ChosenRecording, StudyPlan, shortcoming
from ratings.storage.study_rows import PreparedClip, write_study
from ratings.storage.workshops import workshop_beside
from ratings.study.sets import Condition

#: Called with the part done (0 to 1) and what is being done; raises Cancelled to stop the work.
Progress = Callable[[float, str], None]

#: Clips are cut at the rate that the recordings share; where they differ, at this one.
COMMON_RATE_HZ = 48_000


def quiet(_part: float, _words: str) -> None:
    """Report progress to nobody."""


def make_study(
    path: Path,
    plan: StudyPlan,
    progress: Progress = quiet,
    clock: Callable[[], datetime] = utc_now,
) -> Study:
    """Make a study folder from a plan and open it.

    The folder appears at `path` only when everything in it is complete; after a failure or a
    cancel there is nothing at `path` that was not there before.

    Raises
    ------
    DesignError
        When something is missing from the plan.
    RecordingError
        When a file cannot be used, naming it.
    StudyError
        When the folder cannot be made.
    Cancelled
        When `progress` asked for it.
    """
    problem = shortcoming(plan)
    if problem is not None:
        raise problem
    with _workshop_for(path) as workshop:
        folder = new_study_folder(workshop / "study")
        sounds = _take_in(folder, plan, progress)
        clips = _cut_clips(folder, plan, sounds, progress)
        engine = connect(folder.database)
        try:
            with writing(engine, folder.name) as connection:
                write_study(connection, plan, sounds, clips, clock())
                for name in plan.evaluators:
                    seat_evaluator(connection, name, clock())
        finally:
            engine.dispose()
        _move_into_place(folder.path, path)
    return open_study(path)


@contextlib.contextmanager
def _workshop_for(path: Path) -> Iterator[Path]:
    if path.exists() and (not path.is_dir() or any(path.iterdir())):
        raise StudyError(
            f"The folder {path.name} is not empty.",
            "Choose a new folder for the study; this one was not changed.",
        )
    with contextlib.ExitStack() as stack:
        try:
            workshop = stack.enter_context(workshop_beside(path))
        except OSError as problem:
            raise StudyError(
                f"No study can be made in {path.parent.name}: {reason_of(problem)}.",
                "Choose a place where you may write and that has space.",
            ) from problem
        yield workshop


def _move_into_place(made: Path, path: Path) -> None:
    with contextlib.suppress(FileNotFoundError):
        path.rmdir()
    try:
        made.replace(path)
    except OSError as problem:
        raise StudyError(
            f"The finished study cannot be moved to {path.name}: {reason_of(problem)}.",
            "Choose a new folder for the study; your recordings are untouched.",
        ) from problem


def _take_in(
    folder: StudyFolder, plan: StudyPlan, progress: Progress
) -> dict[ChosenRecording, SoundFacts]:
    sounds: dict[ChosenRecording, SoundFacts] = {}
    for number, recording in enumerate(plan.recordings):
        progress(0.2 * number / len(plan.recordings), f"Reading {recording.path.name}")
        facts = describe(recording.path)
        for other, known in sounds.items():
            if known.content_hash == facts.content_hash:
                raise RecordingError(
                    f"{recording.path.name} holds the same recording as {other.path.name}.",
                    "Choose the right file for each set; nothing was made yet.",
                )
        sounds[recording] = facts
    # Copied in random order: neither place nor time in the folder tells which set it was.
    order = np.random.default_rng([plan.seed, 0, 3]).permutation(len(sounds)).tolist()
    for number, index in enumerate(order):
        recording = plan.recordings[index]
        progress(0.2 + 0.2 * number / len(order), f"Copying {recording.path.name}")
        _copy(
            recording.path,
            folder.recordings / stored_name(sounds[recording].content_hash, recording.path),
        )
    return sounds


def _copy(original: Path, destination: Path) -> None:
    try:
        shutil.copyfile(original, destination)
        os.utime(destination, (FILE_TIME_S, FILE_TIME_S))
    except OSError as problem:
        raise StudyError(
            f"{original.name} cannot be copied into the study: {reason_of(problem)}.",
            "Your recording is untouched. Make room or choose another place, then try again.",
        ) from problem


def _cut_clips(
    folder: StudyFolder,
    plan: StudyPlan,
    sounds: dict[ChosenRecording, SoundFacts],
    progress: Progress,
) -> list[PreparedClip]:
    rng = np.random.default_rng([plan.seed, 0, 4])
    codes = blind_codes(len(sounds), 6, rng)
    rates = Counter(facts.sample_rate_hz for facts in sounds.values())
    rate_hz = next(iter(rates)) if len(rates) == 1 else COMMON_RATE_HZ
    full_scale_pa = max((r.pa_per_full_scale or 0.0 for r in sounds), default=0.0)
    windows = {c.condition_id: _window(c, sounds) for c in plan.conditions}
    prepared = []
    # Cut in random order: neither the row, nor the code, nor the time tells which set it was.
    recordings = list(sounds)
    for number, index in enumerate(rng.permutation(len(recordings)).tolist()):
        recording = recordings[index]
        progress(0.4 + 0.5 * number / len(recordings), f"Cutting clip {number + 1}")
        start_s, stop_s = windows[recording.condition_id]
        left, right = _channels(recording, sounds[recording])
        gain_db = _gain_db(recording.pa_per_full_scale, full_scale_pa)
        cut = ClipCut(left, right, start_s, stop_s, gain_db)
        source = folder.recordings / stored_name(sounds[recording].content_hash, recording.path)
        with told_by_its_own_name(source, recording.path):
            facts = cut_clip(source, folder.clip_file(codes[number]), cut, rate_hz)
        prepared.append(PreparedClip(recording, cut, codes[number], facts))
    return prepared


def _window(condition: Condition, sounds: dict[ChosenRecording, SoundFacts]) -> tuple[float, float]:
    durations_s = {
        recording.path: facts.duration_s
        for recording, facts in sounds.items()
        if recording.condition_id == condition.condition_id
    }
    length_s = (
        COAST_DOWN_CLIP_LENGTH_S if condition.manoeuvre == "coast-down" else STEADY_CLIP_LENGTH_S
    )
    try:
        return common_window(list(durations_s.values()), length_s)
    except RecordingError as problem:
        shortest = min(durations_s, key=durations_s.__getitem__)
        raise RecordingError(
            f"{shown_name(shortest)}, {condition.title}: {problem.what_happened}",
            problem.what_to_do,
        ) from problem


def _channels(recording: ChosenRecording, facts: SoundFacts) -> tuple[int, int]:
    left = 0 if recording.left_channel is None else recording.left_channel
    right = (
        min(1, facts.channels - 1) if recording.right_channel is None else recording.right_channel
    )
    return left, right


def _gain_db(pa_per_full_scale: float | None, full_scale_pa: float) -> float:
    # All clips of a study get one common full scale, so that a level is one number for the player.
    if pa_per_full_scale is None or pa_per_full_scale == full_scale_pa:
        return 0.0
    return 20 * math.log10(pa_per_full_scale / full_scale_pa)
