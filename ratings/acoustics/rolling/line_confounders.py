"""What stands out near a cavity's line and is something else."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ratings.acoustics.rolling.order_series import series_spacing_hz
from ratings.acoustics.rolling.spectral_line import OUTER_SHARE, SpectrumView, outer_share

#: Steadiness of the phase from which a line is a tone, and chance that noise reaches its limit.
_STEADY, _STEADY_BY_CHANCE = 0.45, 0.02


@dataclass(frozen=True, slots=True)
class PassedOver:
    """A line that stands out as a cavity line would and is taken for something else.

    Attributes
    ----------
    why
        ``steady tone``: its phase goes on as that of a sine, or it is as narrow as one; ``order
        series``: it stands in a row of lines at one spacing.
    spacing_hz
        Of that row, else None.
    """

    frequency_hz: float
    why: Literal["steady tone", "order series"]
    spacing_hz: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class ConfounderJudge:
    """Tells a line that rings from tones of machines and from members of an order series."""

    view: SpectrumView
    averages: float
    steadiness: NDArray[np.float64] | None

    def something_else(self, at: int) -> PassedOver | None:
        """Return what a line is taken for; None for what may ring."""
        view = self.view
        frequency_hz = float(view.frequency_hz[at])
        if self._is_tone(at):
            return PassedOver(frequency_hz, "steady tone")
        spacing_hz = series_spacing_hz(view.ratio, view.resolution_hz, self.averages, at)
        if spacing_hz is not None:
            return PassedOver(frequency_hz, "order series", spacing_hz)
        return None

    def _is_tone(self, at: int) -> bool:
        if self.steadiness is None:
            return False
        first = round(self.view.frequency_hz[0] / self.view.resolution_hz) + at
        steadiness = float(self.steadiness[first - 1 : first + 2].max(initial=0.0))
        # The phase of noise goes on by chance like a sum of so many random arrows (Rayleigh).
        by_chance = np.sqrt(-np.log(_STEADY_BY_CHANCE) / max(1.0, self.averages - 2.0))
        is_steady = steadiness > max(_STEADY, by_chance)
        return bool(is_steady) or outer_share(self.view, at) < OUTER_SHARE
