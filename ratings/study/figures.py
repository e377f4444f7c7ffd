"""What a measurement is made of: figures by name and unit, and remarks on how sound it is."""

from dataclasses import dataclass
from typing import Literal, get_args

RUN_FIELD: Literal["diffuse"] = "diffuse"
"""Sound field in which loudness and sharpness of a study's runs are measured, as in a vehicle."""

EARS = "ears"
"""Stands for a channel where a figure is the mean of the channels at the driver's ears."""

Role = Literal[
    "driver left ear",
    "driver right ear",
    "passenger",
    "rear",
    "binaural left",
    "binaural right",
    "reference",
    "speed",
    "not used",
]
ROLES: tuple[Role, ...] = get_args(Role)
EAR_ROLES: tuple[Role, ...] = (
    "driver left ear",
    "driver right ear",
    "binaural left",
    "binaural right",
)
UNHEARD_ROLES: tuple[Role, ...] = ("speed", "not used")
"""Channels that are no microphones, and are not measured."""

Severity = Literal["void", "doubtful", "note"]
"""void: do not use the run; doubtful: look before you use it; note: good to know."""
SEVERITIES: tuple[Severity, ...] = get_args(Severity)
"""The gravest first."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One number of a measurement.

    Attributes
    ----------
    channel
        Number of the channel from 1, as text, or `EARS`.
    key
        Name in tables, such as ``leq_a`` or ``band_boom``; see `title_of`.
    unit
        Such as ``dB``, ``dB(A)``, ``dB re full scale``, ``Hz``, ``sone``.
    value
        May be minus infinity for the level of silence.
    """

    channel: str
    key: str
    unit: str
    value: float


@dataclass(frozen=True, slots=True)
class Remark:
    """Something to know about a run, in words.

    Attributes
    ----------
    channel
        Number from 1; None when it concerns the whole run.
    """

    severity: Severity
    sentence: str
    channel: int | None = None


_TITLES = {
    "leq": "Level, unweighted",
    "leq_a": "Level, A-weighted",
    "leq_c": "Level, C-weighted",
    "fast_max_a": "Maximum level, Fast, A-weighted",
    "slow_max_a": "Maximum level, Slow, A-weighted",
    "clip_leq_a": "Level of the clip, A-weighted",
    "clip_fast_max_a": "Maximum level of the clip, Fast, A-weighted",
    # The runs of a study are measured in a diffuse field.
    "loudness_n": "Loudness N, diffuse field",
    "loudness_n5": "Loudness N5, diffuse field",
    "loudness_n10": "Loudness N10, diffuse field",
    "loudness_n50": "Loudness N50, diffuse field",
    "loudness_n90": "Loudness N90, diffuse field",
    "loudness_nmax": "Loudness, highest, diffuse field",
    "sharpness": "Sharpness, diffuse field",
    "roughness": "Roughness",
    "speed_slope_a": "Rise of the level with speed, A-weighted",
    "cavity_line_hz": "Cavity line, frequency",
    "cavity_line_level": "Cavity line, level, unweighted",
    "cavity_line_height": "Cavity line, height over background",
    "cavity_line_lower_hz": "Cavity line, lower, frequency",
    "cavity_line_lower_level": "Cavity line, lower, level, unweighted",
    "cavity_line_upper_hz": "Cavity line, upper, frequency",
    "cavity_line_upper_level": "Cavity line, upper, level, unweighted",
}


def is_unweighted(key: str) -> bool:
    """Tell whether a figure is a level without frequency weighting."""
    return title_of(key).endswith(", unweighted")


def title_of(key: str) -> str:
    """Return what pages call a figure."""
    if key in _TITLES:
        return _TITLES[key]
    kind, _, rest = key.partition("_")
    if kind == "band":
        is_weighted = rest.endswith("_a")
        name = rest.removesuffix("_a").replace("_", "-")
        return f"{name.capitalize()} band, {'A-weighted' if is_weighted else 'unweighted'}"
    if key.startswith("third_octave_"):
        return f"Third octave {key.removeprefix('third_octave_')} Hz, unweighted"
    if kind in {"fast", "slow"} and rest.startswith("l"):
        # L5 is exceeded for 5 % of the time.
        return f"{rest.removesuffix('_a').upper()}, {kind.capitalize()}, A-weighted"
    if key.startswith("pattern_order_"):
        number = key.removeprefix("pattern_order_").removesuffix("_slip")
        # A level or its place, and only where an order stands out.
        return f"Pattern order {number}, {'slip' if key.endswith('_slip') else 'unweighted'}"
    return key
