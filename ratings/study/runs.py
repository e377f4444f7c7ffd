"""A run of a set: its recording, its channels, how it was driven, its speed."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from ratings.study.calibration_factor import refuse_implausible_factor
from ratings.study.figures import ROLES, UNHEARD_ROLES, Role, Severity
from ratings.study.sets import Condition
from ratings.study.tyre_size import refuse_implausible_pitches


@dataclass(frozen=True, slots=True)
class ChannelSetting:
    """What a channel of a recording is.

    Attributes
    ----------
    pa_per_full_scale
        Sound pressure in pascal of a stored 1.0; None when it is not known.
    calibration
        How it is known, in words, such as ``tone 94 dB, before and after, 0.1 dB apart``.

    Raises
    ------
    MeasurementError
        For an impossible factor.
    """

    role: Role
    pa_per_full_scale: float | None = None
    calibration: str = "not calibrated"

    def __post_init__(self) -> None:
        if self.role not in ROLES:
            raise ValueError(f"{self.role!r} is no role of a channel")
        if self.pa_per_full_scale is not None:
            refuse_implausible_factor(self.pa_per_full_scale)


@dataclass(frozen=True, slots=True)
class Tread:
    """What the tyres of a set say about their own frequencies.

    Attributes
    ----------
    size
        Such as ``205/55R16``; empty when it is not known.
    pitches
        Tread pitches around the tyre; None when nobody counted them.
    """

    size: str = ""
    pitches: int | None = None

    def __post_init__(self) -> None:
        if self.pitches is not None:
            refuse_implausible_pitches(self.pitches)


@dataclass(frozen=True, slots=True)
class RunNote:
    """The conditions that a run was driven in; None for what was not measured.

    Attributes
    ----------
    air_c, surface_c, tyre_air_c
        Temperatures outside, of the road, and of the air in the tyres.
    pressure_front_kpa, pressure_rear_kpa
        Of the tyres, above the air outside.
    """

    air_c: float | None = None
    surface_c: float | None = None
    tyre_air_c: float | None = None
    wind_m_s: float | None = None
    pressure_front_kpa: float | None = None
    pressure_rear_kpa: float | None = None
    load_front_kg: float | None = None
    load_rear_kg: float | None = None
    remark: str = ""


@dataclass(frozen=True, slots=True)
class SpeedFile:
    """Speed from a file of its own; `offset_s` is added to its times."""

    path: Path
    offset_s: float = 0.0


@dataclass(frozen=True, slots=True)
class SpeedChannel:
    """Speed from a channel of the recording whose value follows it; channels count from 1."""

    channel: int
    km_h_per_unit: float
    km_h_at_zero: float = 0.0
    offset_s: float = 0.0


@dataclass(frozen=True, slots=True)
class SpeedPulses:
    """Speed from a channel of the recording that holds pulses; channels count from 1."""

    channel: int
    pulses_per_metre: float
    offset_s: float = 0.0


@dataclass(frozen=True, slots=True)
class ConstantSpeed:
    """The same speed over the whole run."""

    speed_km_h: float


SpeedSource = SpeedFile | SpeedChannel | SpeedPulses | ConstantSpeed


@dataclass(frozen=True, slots=True)
class NewRun:
    """A recording to be brought into a study, and all that its lead says of it.

    Attributes
    ----------
    channels
        One setting for each channel, in the order of the file.
    """

    path: Path
    set_id: int
    condition_id: int
    channels: tuple[ChannelSetting, ...]
    note: RunNote = RunNote()
    speed: SpeedSource | None = None


@dataclass(frozen=True, slots=True)
class Run:
    """A recording of a study as its lead may know it before the key is opened.

    Attributes
    ----------
    set_code
        Blind code of the set that was driven.
    run
        Which run of its set and condition it is, from 1.
    channels, roles
        Number of channels, and what each is.
    is_level_true
        Whether every microphone of it is calibrated.
    measured_at
        When it was last measured, in UTC; None when it has not been.
    worst
        Gravest severity among the remarks of that measuring; None without remarks.
    """

    recording_id: int
    set_code: str
    condition: Condition
    run: int
    channels: int
    sample_rate_hz: int
    duration_s: float
    roles: tuple[Role, ...]
    is_level_true: bool
    has_speed: bool
    measured_at: datetime | None
    worst: Severity | None

    @property
    def title(self) -> str:
        """Its name in sentences, such as ``417, coarse asphalt, 80 km/h, run 2``."""
        return f"{self.set_code}, {self.condition.title}, run {self.run}"


class SetName(NamedTuple):
    """A set by its name, for saying of which set a recording is."""

    set_id: int
    name: str


def is_level_true(settings: tuple[ChannelSetting, ...]) -> bool:
    """Tell whether every microphone among the channels is calibrated."""
    heard = [each for each in settings if each.role not in UNHEARD_ROLES]
    return bool(heard) and all(each.pa_per_full_scale is not None for each in heard)
