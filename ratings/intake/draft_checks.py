"""What keeps a draft from becoming a study, beyond what the plan itself can tell."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from ratings.design.study_plan import StudyPlan, shortcoming, unheard_condition
from ratings.errors import DesignError, RatingsError, RecordingError, StudyError, reason_of
from ratings.intake.known_files import KnownFiles, recorded_shortcoming
from ratings.intake.study_draft import Cell, Draft
from ratings.study.attributes import Attribute

if TYPE_CHECKING:
    from ratings.recordings.read import SoundFacts


def draft_shortcoming(
    draft: Draft, plan: StudyPlan, files: KnownFiles, facts: Mapping[Cell, SoundFacts]
) -> RatingsError | None:
    """Return the first thing that is missing or wrong, files before figures; None when ready.

    Parameters
    ----------
    plan
        The one that the draft makes.
    facts
        Of the files that have been read.
    """
    return (
        _of_beginning(draft)
        or _of_files(draft, files)
        or _of_control(draft)
        or _of_words(plan)
        or (unheard_condition(plan) if draft.chosen else None)
        or recorded_shortcoming(draft.recorded, files, facts.values())
        or draft.recorded.unclear_speed(draft.paths)
        or shortcoming(plan)
        or _of_twins(draft, facts)
        or _of_reading(draft, facts)
    )


def place_shortcoming(folder: Path) -> StudyError | None:
    """Say why no study can be made in a folder, as far as its disk tells; None when it is free."""
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


def attribute_shortcoming(draft: Draft, attribute: Attribute) -> DesignError | None:
    """Return what is missing from an attribute that the lead wrote, a new one without a key."""
    name = attribute.name.strip()
    others = (a.name.casefold() for a in draft.attributes if a.key != attribute.key)
    if not name:
        return DesignError("The attribute has no name yet.", "Give it the panel's own word.")
    if name.casefold() in others:
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


def _of_files(draft: Draft, files: KnownFiles) -> RecordingError | None:
    for path in draft.paths:
        problem = files.problem(path, draft.recorded)
        if problem is not None:
            return RecordingError(f"{path.name} cannot be used.", str(problem))
    return None


def _of_control(draft: Draft) -> DesignError | None:
    if len(draft.sets) < 2:
        return DesignError(
            "There is only one set, and nothing to compare it with."
            if draft.sets
            else "There is no set yet.",
            "Add recordings of at least two sets.",
        )
    if any(s.is_control for s in draft.sets):
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


def _of_twins(draft: Draft, facts: Mapping[Cell, SoundFacts]) -> RecordingError | None:
    seen: dict[str, Path] = {}
    for cell, path in ((f.cell, f.path) for f in draft.files if f.cell in facts):
        other = seen.setdefault(facts[cell].content_hash, path)
        if other is not path:
            return RecordingError(
                f"{path.name} holds the same recording as {other.name}.",
                "Choose the right file for each cell.",
            )
    return None


def _of_reading(draft: Draft, facts: Mapping[Cell, SoundFacts]) -> DesignError | None:
    if len(facts) == len(draft.files):
        return None
    return DesignError("The recordings are being read.", "This takes a moment for long files.")
