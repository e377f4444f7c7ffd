"""Named frequency bands: where in the spectrum an attribute is expected."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from ratings.errors import MeasurementError


@dataclass(frozen=True, slots=True)
class Band:
    """A range of frequencies with a name.

    Attributes
    ----------
    key
        Short name in tables and files, such as ``structure_borne``.
    name
        What pages show.
    low_hz, high_hz
        Edges, at which a level falls by 3 dB.
    """

    key: str
    name: str
    low_hz: float
    high_hz: float

    @property
    def range_text(self) -> str:
        """The range in words, such as ``100-400 Hz``."""
        return f"{self.low_hz:g}-{self.high_hz:g} Hz"


@dataclass(frozen=True, slots=True)
class BandTable:
    """The bands that a measurement was made with.

    Bands may overlap, so their energies must never be added as if separate.

    Attributes
    ----------
    version
        Counts up with every change, so that two measurements can be told to be alike.
    """

    version: int
    bands: tuple[Band, ...]

    def __post_init__(self) -> None:
        for band in self.bands:
            _refuse_senseless(band)
        keys = [band.key for band in self.bands]
        for key in keys:
            if keys.count(key) > 1:
                raise MeasurementError(f"The band {key} is there twice.", "Give each its own name.")

    def band(self, key: str) -> Band:
        """Return the band with this key; KeyError when there is none."""
        for band in self.bands:
            if band.key == key:
                return band
        raise KeyError(key)

    def changed(self, bands: tuple[Band, ...]) -> "BandTable":
        """Return the next version with these bands, or this one when they are the same."""
        return self if bands == self.bands else BandTable(self.version + 1, bands)


def named_bands(bands: Sequence[Band]) -> tuple[Band, ...]:
    """Return bands as they can be measured; those with an empty key get one from their name.

    Raises
    ------
    MeasurementError
        For a band without a name or a sensible range, or a name that is there twice.
    """
    if not bands:
        raise MeasurementError("There is no band left.", "Keep at least one.")
    made: list[Band] = []
    for band in bands:
        name = band.name.strip()
        if not name:
            raise MeasurementError("A band has no name.", "Give it one, such as Rumble.")
        key = band.key or _key_of(name, [*(b.key for b in bands), *(b.key for b in made)])
        if any(name.casefold() == other.name.casefold() for other in made):
            raise MeasurementError(f"The band {name} is there twice.", "Give each its own name.")
        made.append(Band(key, name, band.low_hz, band.high_hz))
    BandTable(1, tuple(made))  # refuses impossible ones
    return tuple(made)


def _key_of(name: str, taken: Sequence[str]) -> str:
    """Make a key of the plain letters of a name, with a number where it is taken."""
    plain = re.sub(r"[^0-9a-z]+", "_", name.casefold()).strip("_")
    key = plain if plain.isidentifier() else f"band_{plain}".rstrip("_")
    number = 2
    while key in taken:
        key, number = f"{key.rstrip('0123456789_')}_{number}", number + 1
    return key


def _refuse_senseless(band: Band) -> None:
    if not band.key.isidentifier():
        raise MeasurementError(
            f"{band.key!r} cannot name a band in tables.",
            "Use letters, digits and underscores, such as structure_borne.",
        )
    if not 0 < band.low_hz < band.high_hz < float("inf"):
        raise MeasurementError(
            f"The band {band.name} from {band.low_hz:g} to {band.high_hz:g} Hz is not a range.",
            "Give two frequencies above 0 Hz, the lower one first.",
        )


#: Common practice, no source. They overlap. A study is made with these; one from before hiss was
#: among them keeps version 1 and goes on with it.
DEFAULT_BANDS = BandTable(
    version=2,
    bands=(
        Band("boom", "Boom", 20, 100),
        Band("structure_borne", "Structure-borne", 100, 400),
        Band("cavity", "Cavity", 100, 300),
        Band("airborne", "Airborne", 400, 4000),
        Band("pattern", "Pattern", 400, 1200),
        Band("hiss", "Hiss", 1000, 4000),
    ),
)
