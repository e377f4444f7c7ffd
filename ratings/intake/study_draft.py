"""The draft of a study: what the lead has said so far, and the plan that it makes."""

import re
from collections.abc import Collection
from dataclasses import dataclass, field, replace
from pathlib import Path

from ratings.design.study_plan import ChosenRecording, StudyPlan
from ratings.intake.how_recorded import HowRecorded, ToneFactor
from ratings.study.attributes import DEFAULT_ATTRIBUTES, Attribute
from ratings.study.file_names import safe_name
from ratings.study.runs import SpeedFile
from ratings.study.sets import Condition, TyreSet, Vehicle

#: A cell of the grid: the ids of its set and of its condition.
Cell = tuple[int, int]


@dataclass(frozen=True, slots=True)
class PlacedFile:
    """A sound file in its cell of the grid."""

    cell: Cell
    path: Path


@dataclass(frozen=True, slots=True)
class Draft:
    """Everything said so far about a study to be made; each change gives a new draft.

    Attributes
    ----------
    attributes
        All that are listed; `chosen` holds the keys of those to be rated.
    evaluator_text, evaluator_count
        Names as they were typed; they may be fewer than the people, a code is enough.
    recorded
        Ears, calibration, equaliser and speed, the same for all files.
    gain_db
        By which all clips are lowered alike.
    accepted
        What the lead knows of the recordings and takes as it is, in the words of the concern.
    place
        The folder in which the folder of the study is made.
    """

    place: Path
    name: str = ""
    vehicle: str = ""
    sets: tuple[TyreSet, ...] = ()
    conditions: tuple[Condition, ...] = ()
    files: tuple[PlacedFile, ...] = ()
    attributes: tuple[Attribute, ...] = DEFAULT_ATTRIBUTES
    chosen: frozenset[str] = frozenset(a.key for a in DEFAULT_ATTRIBUTES)
    evaluator_text: str = ""
    evaluator_count: int = 1
    recorded: HowRecorded = field(default=HowRecorded())
    gain_db: float = 0.0
    accepted: frozenset[str] = frozenset()

    @property
    def is_begun(self) -> bool:
        """Whether it says anything yet."""
        return self != Draft(self.place)

    @property
    def study_name(self) -> str:
        """The name given, or the vehicle's as long as there is none."""
        return self.name.strip() or self.vehicle.strip()

    @property
    def evaluator_names(self) -> tuple[str, ...]:
        """Names between the commas."""
        return tuple(name for part in self.evaluator_text.split(",") if (name := part.strip()))

    @property
    def folder(self) -> Path:
        """Where the study goes: a folder of its own, named like it."""
        return self.place / safe_name(self.study_name)

    @property
    def paths(self) -> list[Path]:
        """The files in the cells."""
        return [placed.path for placed in self.files]

    def is_shown(self, attribute: Attribute) -> bool:
        """Say whether a condition can show an attribute; all can as long as there is none."""
        driven = {condition.manoeuvre for condition in self.conditions}
        return not driven or attribute.manoeuvre is None or attribute.manoeuvre in driven

    def file_in(self, cell: Cell) -> Path | None:
        """Give the file in a cell; None when it is empty."""
        return next((placed.path for placed in self.files if placed.cell == cell), None)

    def with_file(self, cell: Cell, path: Path) -> "Draft":
        """Put a file into a cell, in place of the one before."""
        return replace(
            self, files=(*self.without_file(cell).files, PlacedFile(cell, path.absolute()))
        )

    def without_file(self, cell: Cell) -> "Draft":
        """Empty a cell."""
        return replace(self, files=tuple(f for f in self.files if f.cell != cell))

    def with_set(self, name: str | None = None) -> "Draft":
        """Add a set, with a name to be changed where none is given.

        Only the lead can say which one is the control.
        """
        set_id = max((s.set_id for s in self.sets), default=0) + 1
        if name is None:
            name = _free("Set", [s.name for s in self.sets])
        return replace(self, sets=(*self.sets, TyreSet(set_id, name, is_control=False)))

    def with_set_name(self, set_id: int, name: str) -> "Draft":
        """Name a set."""
        return replace(
            self, sets=tuple(replace(s, name=name) if s.set_id == set_id else s for s in self.sets)
        )

    def with_control(self, set_id: int) -> "Draft":
        """Mark one set as the control that every other is compared with, and no other."""
        return replace(
            self, sets=tuple(replace(s, is_control=s.set_id == set_id) for s in self.sets)
        )

    def without_set(self, set_id: int) -> "Draft":
        """Take a set out with its files; without the control another is to be chosen."""
        return replace(
            self,
            sets=tuple(s for s in self.sets if s.set_id != set_id),
            files=tuple(f for f in self.files if f.cell[0] != set_id),
        )

    def with_condition(self, condition: Condition | None = None) -> "Draft":
        """Add a condition under the next free id, one to be described where none is given."""
        if condition is None:
            condition = Condition(0, _free("Road", [c.surface for c in self.conditions]))
        condition_id = max((c.condition_id for c in self.conditions), default=0) + 1
        added = replace(condition, condition_id=condition_id)
        return replace(self, conditions=(*self.conditions, added))

    def with_changed_condition(self, changed: Condition) -> "Draft":
        """Put a condition in place of the one with its id; only a coast-down keeps an end speed."""
        if changed.manoeuvre == "steady":
            changed = replace(changed, end_speed_km_h=None)
        return replace(
            self,
            conditions=tuple(
                changed if c.condition_id == changed.condition_id else c for c in self.conditions
            ),
        )

    def without_condition(self, condition_id: int) -> "Draft":
        """Take a condition out with its files."""
        return replace(
            self,
            conditions=tuple(c for c in self.conditions if c.condition_id != condition_id),
            files=tuple(f for f in self.files if f.cell[1] != condition_id),
        )

    def with_choice(self, key: str, *, is_chosen: bool) -> "Draft":
        """Say whether an attribute is rated."""
        return replace(self, chosen=self.chosen | {key} if is_chosen else self.chosen - {key})

    def with_attribute(self, attribute: Attribute) -> "Draft":
        """List and choose an attribute that the lead wrote, a new one when its key is empty."""
        taken = {a.key for a in self.attributes}
        kept = replace(
            attribute,
            key=attribute.key or _new_key(attribute.name, taken),
            name=attribute.name.strip(),
            definition=attribute.definition.strip(),
        )
        listed = tuple(kept if a.key == kept.key else a for a in self.attributes)
        return replace(
            self,
            attributes=listed if attribute.key else (*listed, kept),
            chosen=self.chosen | {kept.key},
        )

    def with_evaluator_names(self, text: str) -> "Draft":
        """Take names separated by commas; there are at least as many people as names."""
        named = replace(self, evaluator_text=text)
        return named.with_evaluator_count(self.evaluator_count)

    def with_evaluator_count(self, count: int) -> "Draft":
        """Say how many listen; never fewer than there are names."""
        return replace(self, evaluator_count=max(count, len(self.evaluator_names), 1))

    def plan(self, seed: int, tones: ToneFactor | None = None) -> StudyPlan:
        """Give the plan from which the study can be made.

        Parameters
        ----------
        tones
            What the calibrator's tones say, where the level is known by them.
        """
        names = self.evaluator_names
        return StudyPlan(
            name=self.study_name,
            vehicle=Vehicle(self.vehicle.strip()),
            sets=tuple(replace(s, name=s.name.strip()) for s in self.sets),
            conditions=tuple(replace(c, surface=c.surface.strip()) for c in self.conditions),
            recordings=tuple(self._recording(placed, tones) for placed in self.files),
            seed=seed,
            attributes=tuple(
                a for a in self.attributes if a.key in self.chosen and self.is_shown(a)
            ),
            evaluators=names + ("",) * (self.evaluator_count - len(names)),
            equaliser=self.recorded.equaliser,
            clip_gain_db=self.gain_db,
            accepted=self.accepted,
        )

    def _recording(self, placed: PlacedFile, tones: ToneFactor | None) -> ChosenRecording:
        how = self.recorded
        is_given = how.calibration.kind == "factor"
        factor = how.calibration.pa_per_full_scale if is_given else None
        speed = how.speed_of(placed.path)
        return ChosenRecording(
            placed.path,
            *placed.cell,
            left_channel=how.left_channel,
            right_channel=how.right_channel,
            pa_per_full_scale=tones.pa_per_full_scale if tones else factor,
            calibration=tones.words if tones else "",
            speed=None if speed is None else SpeedFile(speed),
        )


def _free(noun: str, taken: Collection[str]) -> str:
    number = len(taken) + 1
    while f"{noun} {number}" in taken:
        number += 1
    return f"{noun} {number}"


def _new_key(name: str, taken: Collection[str]) -> str:
    stem = re.sub(r"\W+", "_", name.strip().casefold()).strip("_") or "attribute"
    key, number = stem, 2
    while key in taken:
        key, number = f"{stem}_{number}", number + 1
    return key
