"""What is needed to make a study, gathered before anything is written."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from ratings.errors import DesignError
from ratings.study.attributes import DEFAULT_ATTRIBUTES, DEFAULT_SCALE, Attribute, Scale
from ratings.study.listening import name_key
from ratings.study.runs import SpeedSource
from ratings.study.sets import Condition, TyreSet, Vehicle

LOWEST_GAIN_DB = -60.0
"""Below this, 24 bits leave too little of a quiet run (our judgement)."""


@dataclass(frozen=True, slots=True)
class ChosenRecording:
    """A sound file and what was driven in it.

    Attributes
    ----------
    set_id, condition_id
        Ids within the plan.
    left_channel, right_channel
        Channels for the two ears, from 0; None lets a mono file play on both ears and a file of
        several channels play its first two.
    pa_per_full_scale
        Sound pressure in pascal of a sample of 1.0; None lets a file that says it by itself speak,
        and any other be not calibrated.
    calibration
        How the factor was found, in words, and then it is that of the two ears alone; empty for
        one that was given for all channels.
    speed
        Where the speed over the recording comes from; None when it is not known.
    """

    path: Path
    set_id: int
    condition_id: int
    left_channel: int | None = None
    right_channel: int | None = None
    pa_per_full_scale: float | None = None
    calibration: str = ""
    speed: SpeedSource | None = None


@dataclass(frozen=True, slots=True)
class StudyPlan:
    """Sets, conditions, recordings, attributes and people of a study to be made.

    Attributes
    ----------
    equaliser
        The headphones' equaliser, see `ratings.clips.equaliser.read_equaliser`; applied
        to all clips alike.
    clip_gain_db
        By which all clips are lowered alike, so that none exceeds full scale: 0 or below.
    accepted
        First sentences of doubts that the lead takes as they are, see `ratings.clips.doubts`.
    """

    name: str
    vehicle: Vehicle
    sets: tuple[TyreSet, ...]
    conditions: tuple[Condition, ...]
    recordings: tuple[ChosenRecording, ...]
    seed: int
    attributes: tuple[Attribute, ...] = DEFAULT_ATTRIBUTES
    evaluators: tuple[str, ...] = ("",)
    scale: Scale = DEFAULT_SCALE
    note: str = ""
    is_invented: bool = False
    equaliser: Path | None = None
    clip_gain_db: float = 0.0
    accepted: frozenset[str] = frozenset()

    @property
    def control(self) -> TyreSet:
        """The set that every other set is compared with."""
        return next(tyre_set for tyre_set in self.sets if tyre_set.is_control)

    @property
    def candidates(self) -> tuple[TyreSet, ...]:
        """Every set but the control."""
        return tuple(tyre_set for tyre_set in self.sets if not tyre_set.is_control)

    def attributes_on(self, condition: Condition) -> tuple[Attribute, ...]:
        """Give the attributes that a condition can show."""
        return tuple(a for a in self.attributes if a.manoeuvre in (None, condition.manoeuvre))


def shortcoming(plan: StudyPlan) -> DesignError | None:
    """Return the first thing that keeps a plan from becoming a study; None when it is ready."""
    return (
        _of_names(plan)
        or _of_sets(plan)
        or unheard_condition(plan)
        or _of_recordings(plan)
        or calibration_shortcoming([each.pa_per_full_scale for each in plan.recordings])
        or _of_gain(plan.clip_gain_db)
    )


def calibration_shortcoming(factors: Sequence[float | None]) -> DesignError | None:
    """Return what keeps recordings from being compared by level; None when nothing does.

    Parameters
    ----------
    factors
        Pascal per full scale, one for each recording; None where it is not known.
    """
    known = [factor for factor in factors if factor is not None]
    if known and len(known) < len(factors):
        return DesignError(
            f"{len(known)} of {len(factors)} recordings are calibrated, so their levels cannot "
            "be compared.",
            "Give the pascal per full scale for all of them, or for none.",
        )
    bad = next((factor for factor in known if not (factor > 0 and math.isfinite(factor))), None)
    if bad is not None:
        return DesignError(
            f"{bad:g} is not a valid Pa per full scale.", "Give a positive number, such as 20."
        )
    return None


def unheard_condition(plan: StudyPlan) -> DesignError | None:
    """Return the first condition that shows none of the attributes; None when all show one."""
    for condition in plan.conditions:
        if not plan.attributes_on(condition):
            return DesignError(
                f"None of the chosen attributes can be heard on {condition.title}.",
                "Choose one that shows in every manoeuvre.",
            )
    return None


def _of_gain(gain_db: float) -> DesignError | None:
    if LOWEST_GAIN_DB <= gain_db <= 0.0:
        return None
    return DesignError(
        f"The clips cannot be made at a gain of {gain_db:+g} dB.",
        f"Give 0 dB, or down to {LOWEST_GAIN_DB:g} dB; a study never makes its clips louder.",
    )


def _of_names(plan: StudyPlan) -> DesignError | None:
    if not plan.name.strip():
        return DesignError("The study has no name yet.", "Give it one, such as vehicle and week.")
    if not plan.attributes:
        return DesignError("No attribute is chosen.", "Choose at least one to rate.")
    if not plan.evaluators:
        return DesignError("No evaluators are planned yet.", "Plan at least one evaluator.")
    if any(not tyre_set.name.strip() for tyre_set in plan.sets):
        return DesignError("A set has no name yet.", "Name it; evaluators will not see the name.")
    apart = "Give each set and condition a name of its own."
    return (
        _of_twins([s.name for s in plan.sets], apart)
        or _of_twins([c.title for c in plan.conditions], apart)
        # The seats' own rule, told before a file is touched.
        or _of_twins(
            [name.strip() for name in plan.evaluators if name.strip()],
            "Name each evaluator once, or add an initial that tells two people apart.",
        )
    )


def _of_twins(words: list[str], to_do: str) -> DesignError | None:
    seen: dict[str, str] = {}
    for word in words:
        # A table that is brought in names sets and conditions in whatever letters and gaps.
        plain = name_key(word)
        other = seen.get(plain)
        if other is not None:
            return DesignError(
                f"{word} is there twice."
                if other == word
                else f"{other} and {word} differ in nothing but capitals or spaces.",
                to_do,
            )
        seen[plain] = word
    return None


def _of_sets(plan: StudyPlan) -> DesignError | None:
    if not plan.conditions:
        return DesignError("The study has no condition yet.", "Add recordings of one condition.")
    controls = sum(tyre_set.is_control for tyre_set in plan.sets)
    if controls != 1:
        return DesignError(
            f"{'No' if not controls else 'More than one'} set is marked as the control.",
            "Mark exactly one: every other set is compared with it.",
        )
    if len(plan.sets) < 2:
        return DesignError(
            "There is only the control, and nothing to compare it with.",
            "Add recordings of at least one other set.",
        )
    return None


def _of_recordings(plan: StudyPlan) -> DesignError | None:
    for tyre_set in plan.sets:
        for condition in plan.conditions:
            found = sum(
                (r.set_id, r.condition_id) == (tyre_set.set_id, condition.condition_id)
                for r in plan.recordings
            )
            where = f"{tyre_set.name} on {condition.title}"
            if not found:
                return DesignError(
                    f"There is no recording of {where}.",
                    "Add it, or take the set or the condition out.",
                )
            if found > 1:
                return DesignError(
                    f"There are {found} recordings of {where}.", "Keep the one to be heard."
                )
    return None
