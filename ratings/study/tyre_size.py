"""Lengths that follow from the size on a tyre's sidewall."""

import re
from dataclasses import dataclass

from ratings.errors import MeasurementError
from ratings.study.written_numbers import read_number

_SIZE = re.compile(r"^\s*(?:P|LT)?(\d{3})\s*/\s*(\d{2})\s*Z?R\s*(\d{2}(?:[.,]5)?)(?![\d.,])")
_INCH_M = 0.0254
MOST_PITCHES = 400
"""More tread pitches than any tyre has around it."""
#: What road tyres of metric size span, widely taken: width, height over width in per cent, rim.
_WIDTH_MM, _ASPECT, _RIM_IN = (105, 455), (20, 95), (10, 30)
#: Rolling circumference over outer diameter; ETRTO value, from memory.
_ROLLING_OVER_DIAMETER = 3.05


@dataclass(frozen=True, slots=True)
class TyreSize:
    """Outer diameter and rim diameter in metres."""

    outer_diameter_m: float
    rim_diameter_m: float

    @property
    def rolling_circumference_m(self) -> float:
        """Distance rolled in one turn, in metres."""
        return _ROLLING_OVER_DIAMETER * self.outer_diameter_m

    @property
    def cavity_path_m(self) -> float:
        """Length of the middle of the air ring, one wavelength of the cavity resonance, in m."""
        return 3.141592653589793 * (self.outer_diameter_m + self.rim_diameter_m) / 2.0


def tyre_size(size: str) -> TyreSize:
    """Read a size such as ``205/55R16``.

    Raises
    ------
    MeasurementError
        When the text is not a metric size, or one that no road tyre has.
    """
    found = _SIZE.match(size.upper())
    if found is None:
        raise MeasurementError(
            f"The tyre size {size!r} cannot be read.", "Write it as width/aspect R rim: 205/55R16."
        )
    width_mm, aspect, rim_in = (read_number(number) for number in found.groups())
    numbers = ((width_mm, _WIDTH_MM), (aspect, _ASPECT), (rim_in, _RIM_IN))
    if not all(least <= number <= most for number, (least, most) in numbers):
        raise MeasurementError(
            f"No road tyre has the size {size!r}.", "Read it again from the sidewall: 205/55R16."
        )
    rim_m = rim_in * _INCH_M
    return TyreSize(
        outer_diameter_m=rim_m + 2.0 * width_mm / 1000.0 * aspect / 100.0, rim_diameter_m=rim_m
    )


def refuse_implausible_pitches(pitches: int) -> None:
    """Refuse a number of tread pitches that no tyre has around it.

    Raises
    ------
    MeasurementError
    """
    if not 1 <= pitches <= MOST_PITCHES:
        raise MeasurementError(
            f"A tread cannot have {pitches} pitches.",
            f"Give their number around the tyre, 1 to {MOST_PITCHES}; 60 to 80 are usual.",
        )
