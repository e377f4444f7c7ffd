"""A narrow line of a spectrum above its background, and what it measures."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ratings.acoustics.rolling.smooth_background import background_under, smooth_background
from ratings.errors import MeasurementError

#: Share of a line's power that lies 1.5 to 3.5 Hz from its middle: 0.02 for a sine, up to 0.1 for
#: one that wanders by 0.5 Hz, 0.3 for a resonance 2.5 Hz wide at half power (Q of 84).
OUTER_SHARE = 0.10
_INNER_HZ, _OUTER_HZ = 1.5, 3.5
#: Half the stretch whose power above the background is a line's own.
_HALF_LINE_HZ = 5.0
_SURROUNDINGS_HZ = 120.0
#: What lies further below the strongest line of a spectrum is the skirt of that line, or rounding.
_FAINTEST = 1e-10


@dataclass(frozen=True, slots=True)
class SpectralLine:
    """One narrow line.

    Attributes
    ----------
    frequency_hz
        Centre of gravity of what stands above the background.
    level_db
        Level of the power above the background within 5 Hz to either side, in dB.
    prominence_db
        Highest point of the line, above the background.
    """

    frequency_hz: float
    level_db: float
    prominence_db: float


@dataclass(frozen=True, slots=True, eq=False)
class SpectrumView:
    """The part of a spectrum around the range that is searched.

    Attributes
    ----------
    frequency_hz, power, background
        Shape (lines,).
    reference
        What a level of 0 dB is.
    """

    frequency_hz: NDArray[np.float64]
    power: NDArray[np.float64]
    background: NDArray[np.float64]
    resolution_hz: float
    reference: float

    @property
    def ratio(self) -> NDArray[np.float64]:
        """Power over its background, shape (lines,)."""
        return self.power / self.background

    def width(self, wide_hz: float) -> int:
        """Return the odd number of lines nearest to a width."""
        return 2 * round((wide_hz / self.resolution_hz - 1.0) / 2.0) + 1


def view_of(
    power: NDArray[np.float64],
    resolution_hz: float,
    averages: float,
    range_hz: tuple[float, float],
    reference: float,
) -> SpectrumView | None:
    """Cut out the range with its surroundings; None when there is no sound in it."""
    mean = power.mean(axis=0) if power.ndim == 2 else power
    _refuse_unsuitable(mean.size, resolution_hz, averages, range_hz)
    first = max(1, round((range_hz[0] - _SURROUNDINGS_HZ) / resolution_hz))
    part = mean[first : round((range_hz[1] + _SURROUNDINGS_HZ) / resolution_hz) + 1]
    part = np.maximum(part, _FAINTEST * mean[2:].max())  # a constant offset is no line
    if not (part > 0.0).all():
        return None
    background = smooth_background(part, resolution_hz, averages)
    frequency_hz = (first + np.arange(part.size)) * resolution_hz
    return SpectrumView(frequency_hz, part, background, resolution_hz, reference)


def without_skirts(view: SpectrumView, averages: float, lines: Sequence[int]) -> SpectrumView:
    """Return the view with the background under its one or two lines, by their indices."""
    # A line as narrow as the window's has none.
    ordered = sorted({at for at in lines if outer_share(view, at) >= OUTER_SHARE})
    if not ordered:
        return view
    background = background_under(view.power, view.resolution_hz, averages, ordered)
    return replace(view, background=background)


def outer_share(view: SpectrumView, at: int) -> float:
    """Return the share of a line's power that lies beside its middle; 1 where it has no power."""
    away_hz = np.abs(view.frequency_hz - view.frequency_hz[at])
    excess = view.ratio - 1.0
    inner = float(excess[away_hz <= _INNER_HZ].sum())
    outer = float(excess[(away_hz > _INNER_HZ) & (away_hz <= _OUTER_HZ)].sum())
    return outer / (inner + outer) if inner + outer > 0.0 else 1.0


def measured_line(view: SpectrumView, at: int) -> SpectralLine:
    """Measure what stands at an index."""
    half = max(1, round(_HALF_LINE_HZ / view.resolution_hz))
    span = slice(max(0, at - half), at + half + 1)
    excess = view.power[span] - view.background[span]
    middle = slice(max(0, at - half // 2), at + half // 2 + 1)
    above = np.maximum(view.power[middle] - view.background[middle], 0.0)
    ratio = view.power[middle] / view.background[middle]
    prominence_db = float(10.0 * np.log10(ratio.max()))
    if not above.any():
        return SpectralLine(float(view.frequency_hz[at]), float("-inf"), prominence_db)
    total = float(excess.sum())
    if total <= 0.0:  # the line's surroundings lie as far below the background as it lies above
        total = float(above.sum())
    return SpectralLine(
        frequency_hz=float((above * view.frequency_hz[middle]).sum() / above.sum()),
        level_db=float(10.0 * np.log10(total / view.reference**2)),
        prominence_db=prominence_db,
    )


def _refuse_unsuitable(
    lines: int, resolution_hz: float, averages: float, range_hz: tuple[float, float]
) -> None:
    low_hz, high_hz = range_hz
    if resolution_hz > 2.5:
        raise MeasurementError(
            f"A resolution of {resolution_hz:.2g} Hz is too coarse for a cavity line.",
            "Use a spectrum of about 1 Hz, from a recording of some seconds.",
        )
    if averages < 1.0 or not 0.0 < low_hz <= high_hz < (lines - 1) * resolution_hz:
        raise MeasurementError(
            f"The spectrum does not reach over {low_hz:.0f} to {high_hz:.0f} Hz.",
            "Use a recording with a higher sample rate, or another range.",
        )
