"""What is driven: the vehicle, the tyre sets, the conditions."""

from dataclasses import dataclass
from typing import Literal

Manoeuvre = Literal["steady", "coast-down"]


@dataclass(frozen=True, slots=True)
class Vehicle:
    """The one vehicle that carries every set of a study."""

    name: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class TyreSet:
    """Four tyres of one kind. The control is the set that every other is compared with."""

    set_id: int
    name: str
    is_control: bool
    size: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Condition:
    """A surface driven over in one manoeuvre at one speed.

    Attributes
    ----------
    speed_km_h
        The steady speed, or the speed at which a coast-down starts, in km/h.
    end_speed_km_h
        Where a coast-down ends, in km/h; None for a steady speed.
    """

    condition_id: int
    surface: str
    manoeuvre: Manoeuvre = "steady"
    speed_km_h: float | None = None
    end_speed_km_h: float | None = None

    @property
    def title(self) -> str:
        """The condition in words, such as ``coarse asphalt, 80 km/h``."""
        parts = [self.surface]
        if self.manoeuvre == "coast-down":
            parts.append("coast-down")
        if self.speed_km_h is not None:
            end = "" if self.end_speed_km_h is None else f" to {self.end_speed_km_h:g}"
            parts.append(f"{self.speed_km_h:g}{end} km/h")
        return ", ".join(parts)
