"""A study made from a plan: recordings copied, clips cut, sessions drawn up."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from ratings.clips.doubts import refuse_doubtful_levels
from ratings.clips.study_clips import ClipCutter
from ratings.design.study_plan import StudyPlan, shortcoming
from ratings.intake.taking_in import take_in_equaliser, take_in_recordings
from ratings.storage.blind_study import utc_now
from ratings.storage.database import writing
from ratings.storage.lead_file import connect_both
from ratings.storage.seating import prepare_spares, seat_evaluator
from ratings.storage.study_folder import Study, new_study_folder, open_study
from ratings.storage.study_rows import write_study
from ratings.storage.workshops import move_into_place, workshop_for
from ratings.study.progress import Progress, quiet


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
        taken = take_in_recordings(folder, plan, progress)
        clips = ClipCutter(folder.clip_file, plan, taken, equaliser, progress).cut()
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
