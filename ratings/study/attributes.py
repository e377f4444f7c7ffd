"""Attributes and the scale they are rated on."""

from dataclasses import dataclass

from ratings.study.sets import Manoeuvre


@dataclass(frozen=True, slots=True)
class Scale:
    """A 1-10 ladder on which 10 means that there is nothing to hear.

    Notes
    -----
    The direction, the range and the borderline at 5 follow SAE J1441 (read second hand). The step
    of a quarter point is common practice, no source.
    """

    low: float = 1.0
    high: float = 10.0
    step: float = 0.25
    borderline: float = 5.0
    #: Which wording of the anchors an answer was given against.
    anchors_version: int = 1

    def holds(self, value: float) -> bool:
        """Tell whether `value` lies on the scale and on one of its steps."""
        steps = (value - self.low) / self.step
        return self.low <= value <= self.high and abs(steps - round(steps)) < 1e-6

    def nearest(self, value: float) -> float:
        """Return the step nearest to `value`, kept inside the scale."""
        steps = round((value - self.low) / self.step)
        return min(self.high, max(self.low, self.low + steps * self.step))


@dataclass(frozen=True, slots=True)
class Attribute:
    """One thing to listen for, with the card that says what it is.

    Attributes
    ----------
    key
        Short name in tables and files, such as ``cavity_ring``.
    name
        What the form shows.
    definition
        What it is, in the panel's words; every attribute needs one, because the same word means
        different things in different houses.
    low_hz, high_hz
        Where to expect it, in hertz; None when it has no band of its own.
    manoeuvre
        The one manoeuvre that can show it; None when every manoeuvre does.
    """

    key: str
    name: str
    definition: str
    low_hz: float | None = None
    high_hz: float | None = None
    manoeuvre: Manoeuvre | None = None

    @property
    def band_text(self) -> str:
        """The band in words, such as ``100-300 Hz``; empty without a band."""
        if self.low_hz is None or self.high_hz is None:
            return ""
        if self.low_hz >= 1000:
            return f"{self.low_hz / 1000:g}-{self.high_hz / 1000:g} kHz"
        return f"{self.low_hz:g}-{self.high_hz:g} Hz"

    @property
    def card(self) -> str:
        """The definition with its band, as shown under the name."""
        return ", ".join(part for part in (self.definition, self.band_text) if part)


DEFAULT_SCALE = Scale()

#: Where a study starts; all of it can be edited. Words and bands: common practice, no source.
DEFAULT_ATTRIBUTES: tuple[Attribute, ...] = (
    Attribute("boom", "Boom", "pressure on the ears", 20, 100),
    Attribute("rumble", "Rumble", "coarse-road roar", 100, 400),
    Attribute("cavity_ring", "Cavity ring", "rings after edges", 100, 300),
    Attribute("pattern_whine", "Pattern whine", "follows speed", 400, 1200),
    Attribute("hiss", "Hiss", "rush of air", 1000, 4000),
    Attribute("evenness", "Evenness", "falls with speed, no peaks", manoeuvre="coast-down"),
    Attribute("overall", "Overall", "all of it together"),
)
