"""A study made from a plan: recordings copied, clips cut, sessions drawn up."""

import contextlib
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path

from ratings.errors import StudyError, reason_of
from ratings.storage.blind_study import utc_now
from ratings.storage.clip_cutting import ClipCutter
from ratings.storage.clip_doubts import refuse_doubtful_levels
from ratings.storage.clip_levels import calibrated
from ratings.storage.database import writing
from ratings.storage.lead_file import connect_both
from ratings.storage.progress import Progress, quiet
from ratings.storage.seating import prepare_spares, seat_evaluator
from ratings.storage.study_folder import Study, new_study_folder, open_study
from ratings.storage.study_plan import StudyPlan, shortcoming
from ratings.storage.study_rows import write_study
from ratings.storage.taking_in import take_in_equaliser, take_in_recordings
from ratings.storage.workshops import workshop_beside


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
        When a file cannot be used, naming it, a clip would exceed full scale, or levels are
        implausible and not accepted.
    StudyError
        When the folder cannot be made.
    Cancelled
        When `progress` asked for it.
    """
    problem = shortcoming(plan)
    if problem is not None:
        raise problem
    with workshop_for(path) as workshop:
        folder = new_study_folder(workshop / "study")
        equaliser = take_in_equaliser(folder, plan.equaliser) if plan.equaliser else None
        taken = calibrated(take_in_recordings(folder, plan, progress))
        clips = ClipCutter(folder, plan, taken, equaliser, progress).cut()
        refuse_doubtful_levels(clips, equaliser, plan.accepted)
        engine = connect_both(folder, read_only=False)
        try:
            with writing(engine, folder.name) as connection:
                write_study(connection, plan, taken, clips, clock())
                for name in plan.evaluators:
                    seat_evaluator(connection, name, clock())
                prepare_spares(connection, clock())
        finally:
            engine.dispose()
        move_into_place(folder.path, path)
    return open_study(path)


@contextlib.contextmanager
def workshop_for(path: Path) -> Iterator[Path]:
    """Make a workshop for a study that is to come to `path`, where nothing may be yet.

    Raises
    ------
    StudyError
        When the place is taken, or nothing can be made there.
    """
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


def move_into_place(made: Path, path: Path) -> None:
    """Move a finished study to its place; StudyError when it cannot be."""
    with contextlib.suppress(FileNotFoundError):
        path.rmdir()
    try:
        made.replace(path)
    except OSError as problem:
        raise StudyError(
            f"The finished study cannot be moved to {path.name}: {reason_of(problem)}.",
            "Choose a new folder for the study; your recordings are untouched.",
        ) from problem
