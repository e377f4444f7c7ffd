"""The cavity line of a measured recording, in one channel or in some together."""

from collections.abc import Sequence

from ratings.acoustics.narrow_band import NarrowBandSpectrum
from ratings.acoustics.rolling.cavity_line import CavitySearch, search_cavity_line
from ratings.acoustics.rolling.cavity_prediction import CavityPrediction

USUAL_CAVITY_RANGE_HZ = (165.0, 260.0)
"""Where the line of a car tyre lies when its size is not told (SAE 2009-01-2104: 190 to 250 Hz)."""

_WIDEST_LINE_HZ = 2.5


def cavity_search(
    spectrum: NarrowBandSpectrum, prediction: CavityPrediction | None, columns: Sequence[int]
) -> CavitySearch:
    """Look for the line in the mean power of some channels of a spectrum."""
    if spectrum.resolution_hz > _WIDEST_LINE_HZ:
        # A recording shorter than half a second tells no line from its neighbours.
        return CavitySearch(None)
    few = list(columns)
    return search_cavity_line(
        spectrum.power[few],
        spectrum.resolution_hz,
        spectrum.averages,
        USUAL_CAVITY_RANGE_HZ if prediction is None else prediction,
        over_time=None if spectrum.over_time is None else spectrum.over_time.of_channels(few),
    )
