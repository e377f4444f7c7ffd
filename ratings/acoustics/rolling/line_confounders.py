"""What stands out near a cavity's line and is something else."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from ratings.acoustics.lines_over_time import LinesOverTime
from ratings.acoustics.rolling.line_movement import moved_lines, passes_by
from ratings.acoustics.rolling.order_series import series_spacing_hz
from ratings.acoustics.rolling.spectral_line import OUTER_SHARE, SpectrumView, outer_share

#: Steadiness of the phase from which a line is a tone, and chance that noise reaches its limit.
_STEADY, _STEADY_BY_CHANCE = 0.45, 0.01


@dataclass(frozen=True, slots=True)
class PassedOver:
    """A line that stands out as a cavity line would and is taken for something else.

    Attributes
    ----------
    why
        ``steady tone``: its phase goes on as that of a sine, or it is as narrow as one; ``moving``:
        it moves from the beginning to the end; ``passing``: it is there for a small part of the
        time; ``order series``: it stands in a row of lines at one spacing.
    spacing_hz
        Of that row, else None.
    moved_hz
        From the beginning to the end, for one that moves.
    """

    frequency_hz: float
    why: Literal["steady tone", "moving", "passing", "order series"]
    spacing_hz: float | None = None
    moved_hz: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class ConfounderJudge:
    """Tells a line that rings where it is from tones of machines and from orders."""

    view: SpectrumView
    averages: float
    over_time: LinesOverTime | None

    def something_else(self, at: int) -> PassedOver | None:
        """Return what a line is taken for; None for what may ring."""
        view = self.view
        frequency_hz = float(view.frequency_hz[at])
        if self._is_tone(at):
            return PassedOver(frequency_hz, "steady tone")
        if self.over_time is not None:
            parts = self.over_time.power.mean(axis=0)
            moved = moved_lines(parts, self._line(at))
            if moved is not None:
                moved_hz = moved * view.resolution_hz
                return PassedOver(frequency_hz, "moving", moved_hz=moved_hz)
            if passes_by(parts, self._line(at)):
                return PassedOver(frequency_hz, "passing")
        spacing_hz = series_spacing_hz(view.ratio, view.resolution_hz, self.averages, at)
        if spacing_hz is not None:
            return PassedOver(frequency_hz, "order series", spacing_hz)
        return None

    def _line(self, at: int) -> int:
        """Return the index in the whole spectrum."""
        return round(float(self.view.frequency_hz[0]) / self.view.resolution_hz) + at

    def _is_tone(self, at: int) -> bool:
        if self.over_time is None:
            return False
        line = self._line(at)
        near = self.over_time.steadiness.mean(axis=0)[line - 1 : line + 2]
        # The phase of noise goes on by chance like a sum of so many random arrows (Rayleigh).
        by_chance = np.sqrt(-np.log(_STEADY_BY_CHANCE) / max(1.0, self.averages - 2.0))
        is_steady = float(near.max(initial=0.0)) > max(_STEADY, by_chance)
        return bool(is_steady) or outer_share(self.view, at) < OUTER_SHARE
