"""Loudness, sharpness and roughness of the calibrated channels of a recording."""

from dataclasses import dataclass

from ratings.acoustics.loudness.meter import Loudness
from ratings.acoustics.roughness.meter import Roughness


@dataclass(frozen=True, slots=True)
class HearingFigures:
    """What one channel would sound like, in the units of hearing."""

    n_sone: float
    n5_sone: float
    n10_sone: float
    n50_sone: float
    n90_sone: float
    nmax_sone: float
    sharpness_acum: float
    roughness_asper: float


@dataclass(frozen=True, slots=True, eq=False)
class HearingMeasurement:
    """Loudness and roughness of some channels.

    Attributes
    ----------
    numbers
        Their numbers in the recording, from 1, in the order of the arrays.
    """

    numbers: tuple[int, ...]
    loudness: Loudness
    roughness: Roughness

    def of_channel(self, number: int) -> HearingFigures | None:
        """Return the figures of a channel; None when it is not calibrated."""
        if number not in self.numbers:
            return None
        column = self.numbers.index(number)
        return HearingFigures(
            n_sone=float(self.loudness.n_sone[column]),
            n5_sone=float(self.loudness.n5_sone[column]),
            n10_sone=float(self.loudness.n10_sone[column]),
            n50_sone=float(self.loudness.n50_sone[column]),
            n90_sone=float(self.loudness.n90_sone[column]),
            nmax_sone=float(self.loudness.nmax_sone[column]),
            sharpness_acum=float(self.loudness.sharpness_acum[column]),
            roughness_asper=float(self.roughness.mean_asper[column]),
        )
