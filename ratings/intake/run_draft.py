"""What the lead has said of files that are to become runs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from ratings.intake.named_driving import driving
from ratings.study.constants import CALIBRATOR_LEVEL_DB, KM_H_PER_M_S
from ratings.study.figures import UNHEARD_ROLES, Role
from ratings.study.runs import RunNote

if TYPE_CHECKING:
    from ratings.recordings.read import SoundFacts
    from ratings.study.sets import Condition

CalibrationKind = Literal["kept", "own", "factor", "tones", "unknown"]
SpeedKind = Literal["kept", "steady", "file", "channel", "pulses", "unknown"]
TONES_DB = (CALIBRATOR_LEVEL_DB, 114.0)
#: Of a run's note, what all runs of a drive day share (our judgement).
DAY_NOTES = (
    *("air_c", "surface_c", "pressure_front_kpa", "pressure_rear_kpa"),
    *("load_front_kg", "load_rear_kg"),
)
_BY_CHANNEL: tuple[SpeedKind, ...] = ("channel", "pulses")
#: Units in which a channel holds speed, and km/h in one of them.
_SPEED_UNITS = {"km/h": 1.0, "kmh": 1.0, "kph": 1.0, "m/s": KM_H_PER_M_S}


@dataclass(frozen=True, slots=True)
class CalibrationDraft:
    """How the level of a file is known.

    Attributes
    ----------
    kind
        ``own`` takes the file's own unit, which must be a pressure; ``kept`` what was said before.
    """

    kind: CalibrationKind = "unknown"
    pa_per_full_scale: float = 0.0
    tone_before: Path | None = None
    tone_after: Path | None = None
    tone_db: float = TONES_DB[0]


@dataclass(frozen=True, slots=True)
class SpeedDraft:
    """Where the speed of a run comes from; ``steady`` is the condition's own speed.

    Attributes
    ----------
    channel
        From 1; 0 while none is chosen.
    """

    kind: SpeedKind = "unknown"
    path: Path | None = None
    channel: int = 0
    km_h_per_unit: float = 1.0
    pulses_per_metre: float = 1.0
    offset_s: float = 0.0


@dataclass(frozen=True, slots=True)
class FileDraft:
    """A file and what is said of it.

    Attributes
    ----------
    roles
        One per channel; empty until the file was read.
    refusal
        Why it could not be brought in at the last try.
    """

    path: Path
    set_id: int | None = None
    condition_id: int | None = None
    roles: tuple[Role, ...] = ()
    calibration: CalibrationDraft = field(default=CalibrationDraft())
    speed: SpeedDraft = field(default=SpeedDraft())
    note: RunNote = field(default=RunNote())
    refusal: str = ""

    def with_settings_of(self, other: FileDraft) -> FileDraft:
        """Take over what holds for a drive day; roles only where there are as many channels."""
        same = len(other.roles) == len(self.roles)
        own_unit = other.calibration.kind == "own"
        told = {key: value for key in DAY_NOTES if (value := getattr(other.note, key)) is not None}
        return replace(
            self,
            roles=other.roles if same else self.roles,
            calibration=self.calibration if own_unit else other.calibration,
            # A speed file belongs to one run.
            speed=self.speed if "file" in (self.speed.kind, other.speed.kind) else other.speed,
            note=replace(self.note, **told),
            refusal="",
        )


def first_draft(
    path: Path, sets: Sequence[tuple[int, str]], conditions: Sequence[Condition]
) -> FileDraft:
    """Begin with what the file's name says: set and condition, when just one of them fits it."""
    name = path.stem.casefold()
    named = [set_id for set_id, words in sets if words and words.casefold() in name]
    fitting = [each for each in conditions if len(conditions) == 1 or _fits(each, path.stem)]
    return FileDraft(
        path.absolute(),
        set_id=named[0] if len(named) == 1 else None,
        condition_id=fitting[0].condition_id if len(fitting) == 1 else None,
    )


def with_facts(draft: FileDraft, facts: SoundFacts, condition: Condition | None) -> FileDraft:
    """Fill in what the file itself says: its channels, and its unit when that is a pressure."""
    if draft.roles:
        return draft
    is_pressure = any(each is not None for each in facts.pa_per_full_scale)
    calibration = CalibrationDraft("own") if is_pressure else draft.calibration
    roles = _roles(facts)
    speed = SpeedDraft("steady") if has_steady_speed(condition) else draft.speed
    if "speed" in roles:
        channel = roles.index("speed")
        speed = SpeedDraft("channel", None, channel + 1, _SPEED_UNITS[_plain(facts.units[channel])])
    return replace(draft, roles=roles, calibration=calibration, speed=speed)


def with_role(draft: FileDraft, channel: int, role: Role) -> FileDraft:
    """Say what a channel is, counted from 0; one that holds speed is proposed as the run's."""
    roles = (*draft.roles[:channel], role, *draft.roles[channel + 1 :])
    is_new = role == "speed" and draft.speed.kind == "unknown"
    speed = SpeedDraft("channel", channel=channel + 1) if is_new else draft.speed
    return with_speed(replace(draft, roles=roles), speed)


def with_speed(draft: FileDraft, speed: SpeedDraft) -> FileDraft:
    """Say where the speed comes from; a channel that is said to hold it is proposed."""
    if speed.kind in _BY_CHANNEL and not speed.channel and "speed" in draft.roles:
        speed = replace(speed, channel=draft.roles.index("speed") + 1)
    return replace(draft, speed=speed)


def speed_channel_problem(draft: FileDraft, facts: SoundFacts | None = None) -> str:
    """Say why the speed cannot come from the channel chosen; empty when it can.

    Parameters
    ----------
    facts
        None where the unit of the file is not known.
    """
    channel = draft.speed.channel
    if draft.speed.kind not in _BY_CHANNEL:
        return ""
    if not 1 <= channel <= len(draft.roles):
        return "choose the speed channel"
    role = draft.roles[channel - 1]
    if role not in UNHEARD_ROLES:
        return f"channel {channel} is {role}, no speed"
    if facts is not None and facts.pa_per_full_scale[channel - 1] is not None:
        return f"channel {channel} is in pascal, no speed"
    return ""


def shortcoming(draft: FileDraft, facts: SoundFacts | None, condition: Condition | None) -> str:
    """Say what is still missing before a file can be brought in; empty when nothing is."""
    calibration, speed = draft.calibration, draft.speed
    if facts is None:
        return "being read"
    missing = (
        (draft.set_id is None, "choose its set"),
        (draft.condition_id is None, "choose its condition"),
        (all(role in {"not used", "speed"} for role in draft.roles), "say which channel is heard"),
        (calibration.kind == "factor" and not calibration.pa_per_full_scale, "give the factor"),
        (calibration.kind == "tones" and calibration.tone_before is None, "choose the tone file"),
        (speed.kind == "file" and speed.path is None, "choose the speed file"),
        (bool(by_channel := speed_channel_problem(draft, facts)), by_channel),
        (
            speed.kind == "steady" and not has_steady_speed(condition),
            "the condition has no steady speed",
        ),
    )
    return next((words for is_missing, words in missing if is_missing), "")


def has_steady_speed(condition: Condition | None) -> bool:
    """Whether a condition is driven at one speed that is known."""
    return condition is not None and condition.manoeuvre == "steady" and bool(condition.speed_km_h)


def _fits(condition: Condition, stem: str) -> bool:
    """Whether a file's name speaks of a condition: its road, manoeuvre and speed."""
    name = driving(stem)
    return (
        all(word in stem.casefold() for word in condition.surface.casefold().split())
        and condition.manoeuvre == name.manoeuvre
        and (not name.speeds_km_h or condition.speed_km_h in (None, *name.speeds_km_h))
    )


def _plain(unit: str | None) -> str:
    return "" if unit is None else unit.replace(" ", "").casefold()


def _roles(facts: SoundFacts) -> tuple[Role, ...]:
    roles: list[Role] = []
    ears: list[Role] = ["driver left ear", "driver right ear"]
    for unit in facts.units:
        if _plain(unit) in _SPEED_UNITS:
            roles.append("speed")
        else:
            roles.append(ears.pop(0) if ears else "not used")
    return tuple(roles)
