"""Just noticeable differences: how far a figure must differ before ears notice side by side."""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field

#: A rise over speed or a height over background is in decibels and no level.
_LEVEL = re.compile(r"dB(\([A-Z]\))?( re .+)?")


@dataclass(frozen=True, slots=True)
class Threshold:
    """The difference of one kind of figure that ears notice.

    Attributes
    ----------
    least
        In the unit of the figure; smaller differences are not noticed, whatever its level.
    part
        Of the figure's own level; 0 where the level does not matter. Both must be exceeded.
    source
        Where the values come from, as it is told beside them.
    alone
        Noticed without a direct comparison, in the unit of the figure; None when not known.
    """

    least: float
    part: float
    source: str
    alone: float | None = None

    def times(self, difference: float, level: float | None) -> float | None:
        """Return the size of a difference in steps that are just noticed.

        Parts are counted as equal ratios, so that twice as much and half as much are as far away.

        Parameters
        ----------
        level
            What the difference starts from: the value of the control.
        """
        steps = abs(difference) / self.least if self.least else math.inf
        if not self.part:
            return steps
        if level is None or level <= 0.0 or level + difference < 0.0:
            return None
        ratio = (level + difference) / level
        if ratio > 0.0:
            steps = min(steps, abs(math.log(ratio)) / math.log1p(self.part))
        return steps if math.isfinite(steps) else None

    @property
    def words(self) -> str:
        """The threshold in words that need the unit after them where no part is named."""
        return f"about {100 * self.part:.0f} %" if self.part else f"about {self.least:g}"


@dataclass(frozen=True, slots=True)
class Noticing:
    """The thresholds of all figures; make another one to judge by other values.

    They hold for one figure heard side by side with all else alike, by attentive ears. A line or a
    band that others mask needs more.

    Attributes
    ----------
    level
        In decibels, of every level, whatever its weighting.
    loudness, sharpness, roughness
        In sone, acum and asper.
    by_key
        Of single figures, before those of their unit.
    """

    level: Threshold = Threshold(1.0, 0.0, "common practice", alone=3.0)
    #: In sone, ten phon double loudness (ISO 532-1, above 1 sone): what 1 dB does to it, 7 %.
    loudness: Threshold = Threshold(0.0, 2**0.1 - 1, "the loudness of 1 dB, common practice")
    #: From memory, not looked up: You and Jeon, Noise Control Eng. J. 56 (2008), refrigerators,
    #: 0.08 acum and 0.04 asper; Pedrielli, Carletti and Casazza, Acoustics '08, earth-moving
    #: machines, 0.04 acum. The larger one is taken: nothing is named that is not heard.
    sharpness: Threshold = Threshold(0.08, 0.0, "published for other machines, from memory")
    #: From memory, not looked up: Fastl and Zwicker, Psychoacoustics, chapter on roughness, 17 %;
    #: the least as above.
    roughness: Threshold = Threshold(0.04, 0.17, "published for test sounds, from memory")

    by_key: Mapping[str, Threshold] = field(default_factory=dict)

    def of(self, key: str, unit: str) -> Threshold | None:
        """Return the threshold of a figure; None when none is known, as for one in Hz."""
        if key in self.by_key:
            return self.by_key[key]
        if _LEVEL.fullmatch(unit):
            return self.level
        return {"sone": self.loudness, "acum": self.sharpness, "asper": self.roughness}.get(unit)


NOTICING = Noticing()


def times_noticeable(
    key: str,
    unit: str,
    difference: float,
    level: float | None,
    noticing: Noticing = NOTICING,
) -> float | None:
    """Return how many times what ears just notice a difference is; None when that is not known.

    Parameters
    ----------
    key, unit
        Of the figure, as in the measurement table.
    level
        The value of the control, in the same unit; needed where a part of it counts.
    """
    threshold = noticing.of(key, unit)
    return None if threshold is None else threshold.times(difference, level)


def is_noticeable(
    key: str,
    unit: str,
    difference: float,
    level: float | None,
    noticing: Noticing = NOTICING,
) -> bool:
    """Tell whether ears notice a difference side by side; False when that is not known.

    A tenth is the finest that is shown: what reads as 1.0 dB is noticed.
    """
    times = times_noticeable(key, unit, difference, level, noticing)
    return times is not None and round(times, 1) >= 1.0


def noticing_words(
    key: str,
    unit: str,
    difference: float,
    level: float | None,
    noticing: Noticing = NOTICING,
) -> str:
    """Say what a difference means to ears, with the threshold and its source."""
    threshold = noticing.of(key, unit)
    times = times_noticeable(key, unit, difference, level, noticing)
    if threshold is None or times is None:
        return "not known to be noticed by ears"
    about = threshold.words if threshold.part else f"{threshold.words} {unit.partition(' ')[0]}"
    if round(times, 1) < 1.0:
        return f"less than ears notice side by side ({about}, {threshold.source})"
    alone = threshold.alone
    if alone is not None and abs(difference) >= alone:
        about = f"about {alone:g} {unit.partition(' ')[0]}"
        return f"noticed without a direct comparison (from {about}, {threshold.source})"
    return f"noticed side by side (from {about}, {threshold.source})"
