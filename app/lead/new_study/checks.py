"""What keeps a draft from becoming a study, beyond what the plan itself can tell."""

from collections.abc import Callable
from pathlib import Path

from app.lead.new_study.files import FileReader
from ratings.design.study_plan import StudyPlan, shortcoming
from ratings.errors import DesignError, RatingsError, RecordingError, StudyError, reason_of
from ratings.intake.draft_words import attributes_heard
from ratings.intake.study_draft import Draft
from ratings.study.attributes import Attribute

#: Why the file at a path cannot be used; None when it can, and while it is being read.
ProblemOf = Callable[[Path], RatingsError | None]


def draft_shortcoming(
    draft: Draft,
    plan: StudyPlan,
    files: FileReader,
    problem_of: ProblemOf,
    of_recording: RatingsError | None,
) -> RatingsError | None:
    """Return the first thing that is missing or wrong, files before figures; None when ready.

    Parameters
    ----------
    of_recording
        What is missing from how the files were recorded.
    """
    return (
        _of_beginning(draft)
        or _of_files(draft, problem_of)
        or _of_control(draft)
        or _of_words(plan)
        or _of_listening(draft, plan)
        or of_recording
        or shortcoming(plan)
        or _of_twins(draft, files)
        or _of_reading(draft, files)
        or _of_place(draft.folder)
    )


def attribute_shortcoming(
    attribute: Attribute, others: tuple[Attribute, ...]
) -> DesignError | None:
    """Return what is missing from an attribute that was written by the lead."""
    name = attribute.name.strip()
    if not name:
        return DesignError("The attribute has no name yet.", "Give it the panel's own word.")
    if any(name.casefold() == other.name.casefold() for other in others):
        return DesignError(f"{name} is there already.", "Edit that one, or choose another name.")
    if not attribute.definition.strip():
        return DesignError(
            f"{name} has no definition yet.", "Say in a few words what is to be heard."
        )
    low_hz, high_hz = attribute.low_hz, attribute.high_hz
    if (low_hz is None) != (high_hz is None):
        return DesignError(f"{name} has one edge of a band.", "Give both edges in hertz, or none.")
    if low_hz is not None and high_hz is not None and low_hz >= high_hz:
        return DesignError(
            f"The band of {name} ends where it starts, or below.", "Give the lower edge first."
        )
    return None


def _of_beginning(draft: Draft) -> DesignError | None:
    if draft.sets or draft.conditions:
        return None
    return DesignError(
        "Which recordings do you want to compare?",
        "Choose or drop recordings of at least two sets on one condition.",
    )


def _of_files(draft: Draft, problem_of: ProblemOf) -> RecordingError | None:
    for placed in draft.files:
        problem = problem_of(placed.path)
        if problem is not None:
            return RecordingError(f"{placed.path.name} cannot be used.", str(problem))
    return None


def _of_control(draft: Draft) -> DesignError | None:
    if len(draft.sets) < 2:
        return DesignError(
            "There is only one set, and nothing to compare it with."
            if draft.sets
            else "There is no set yet.",
            "Add recordings of at least two sets.",
        )
    if draft.has_control:
        return None
    return DesignError(
        "Which set is the control?",
        "Mark it in the column control: every other set is compared with it.",
    )


def _of_words(plan: StudyPlan) -> DesignError | None:
    if any(not tyre_set.name for tyre_set in plan.sets):
        return DesignError("A set has no name yet.", "Name it; evaluators will not see the name.")
    for condition in plan.conditions:
        if not condition.surface:
            return DesignError("A condition has no surface yet.", "Say which road it was.")
        start, end = condition.speed_km_h, condition.end_speed_km_h
        if end is not None and (start is None or end >= start):
            return DesignError(
                f"The coast-down on {condition.surface} does not slow down.",
                "Give a start speed above the end speed.",
            )
    return None


def _of_twins(draft: Draft, files: FileReader) -> RecordingError | None:
    seen: dict[str, Path] = {}
    for placed in draft.files:
        facts = files.facts(placed.path)
        if facts is None:
            continue
        other = seen.setdefault(facts.content_hash, placed.path)
        if other is not placed.path:
            return RecordingError(
                f"{placed.path.name} holds the same recording as {other.name}.",
                "Choose the right file for each cell.",
            )
    return None


def _of_listening(draft: Draft, plan: StudyPlan) -> DesignError | None:
    if not draft.chosen:
        return None
    for condition in plan.conditions:
        if not attributes_heard(plan, condition):
            return DesignError(
                f"None of the chosen attributes can be heard on {condition.title}.",
                "Choose one that shows in every manoeuvre.",
            )
    return None


def _of_reading(draft: Draft, files: FileReader) -> DesignError | None:
    if all(files.facts(placed.path) is not None for placed in draft.files):
        return None
    return DesignError("The recordings are being read.", "This takes a moment for long files.")


def _of_place(folder: Path) -> StudyError | None:
    try:
        is_free = not folder.exists() or (folder.is_dir() and not any(folder.iterdir()))
    except OSError as problem:
        return StudyError(
            f"The folder {folder.parent.name} cannot be looked into: {reason_of(problem)}.",
            "Choose another place for the study.",
        )
    if is_free:
        return None
    return StudyError(
        f"There is already a folder {folder.name} in {folder.parent.name}.",
        "Give the study another name, or choose another place; that folder stays as it is.",
    )
