"""Third-octave bands: exact frequencies, edges, and the names by which they go."""

from dataclasses import dataclass

LOWEST_INDEX, HIGHEST_INDEX = -17, 11
"""Bands from 20 Hz to 12.5 kHz, counted from the one at 1 kHz."""

_NOMINAL = (1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8)


@dataclass(frozen=True, slots=True)
class ThirdOctave:
    """One band of the series.

    Attributes
    ----------
    index
        Counted from the band at 1 kHz.
    """

    index: int

    @property
    def centre_hz(self) -> float:
        """Exact mid-band frequency, base ten (IEC 61260-1:2014, 5.4)."""
        return float(1000.0 * 10.0 ** (self.index / 10.0))

    @property
    def low_hz(self) -> float:
        """Lower band edge (IEC 61260-1:2014, 5.7)."""
        return float(self.centre_hz * 10.0**-0.05)

    @property
    def high_hz(self) -> float:
        """Upper band edge."""
        return float(self.centre_hz * 10.0**0.05)

    @property
    def nominal_hz(self) -> float:
        """Rounded frequency that names the band (IEC 61260-1:2014, annex E)."""
        decade, step = divmod(self.index, 10)
        return round(_NOMINAL[step] * 10.0 ** (3 + decade), 6)

    @property
    def name(self) -> str:
        """The nominal frequency as text, such as ``31.5`` or ``12500``."""
        return f"{self.nominal_hz:g}"


THIRD_OCTAVES = tuple(ThirdOctave(index) for index in range(LOWEST_INDEX, HIGHEST_INDEX + 1))
