"""The Bark scale and the threshold in quiet."""

from typing import Final

import numpy as np
import numpy.typing as npt

Curve = tuple[tuple[float, ...], tuple[float, ...]]
FloatArray = npt.NDArray[np.float64]

# Zwicker 1961, JASA 33, 248: edges and centres of the 24 critical bands, every half Bark.
_HALF_BARK_HZ: Final = (
    0, 50, 100, 150, 200, 250, 300, 350, 400, 450, 510, 570, 630, 700, 770, 840, 920, 1000, 1080,
    1170, 1270, 1370, 1480, 1600, 1720, 1850, 2000, 2150, 2320, 2500, 2700, 2900, 3150, 3400, 3700,
    4000, 4400, 4800, 5300, 5800, 6400, 7000, 7700, 8500, 9500, 10500, 12000, 13500, 15500, 17500,
)  # fmt: skip

# Zwicker and Fastl 1990, figure 2.1: threshold in quiet, dB over Bark. Printed as a figure only;
# this reading goes round in open implementations (here: compared with MoSQITo 1.2.1, Apache-2.0).
_THRESHOLD: Final[Curve] = (
    (0, 0.01, 0.17, 0.8, 1, 1.5, 2, 3.3, 4, 5, 6, 8, 10, 12, 13.3, 15, 16, 17, 18, 19, 20, 21, 22,
     23, 24, 24.5, 25),
    (130, 70, 60, 30, 25, 20, 15, 10, 8.1, 6.3, 5, 3.5, 2.5, 1.7, 0, -2.5, -4, -3.7, -1.5, 1.4, 3.8,
     5, 7.5, 15, 48, 60, 130),
)  # fmt: skip


def bark(frequency_hz: npt.NDArray[np.floating]) -> FloatArray:
    """Return critical-band rates in Bark, interpolated in Zwicker's table, up to 17.5 kHz."""
    return read_curve(frequency_hz, _HALF_BARK_HZ, np.arange(len(_HALF_BARK_HZ)) * 0.5)


def hertz(rate_bark: npt.NDArray[np.floating]) -> FloatArray:
    """Return the frequencies of critical-band rates, the inverse of `bark`."""
    return read_curve(rate_bark, np.arange(len(_HALF_BARK_HZ)) * 0.5, _HALF_BARK_HZ)


def threshold_db(rate_bark: npt.NDArray[np.floating]) -> FloatArray:
    """Return the threshold in quiet in dB re 20 uPa."""
    return read_curve(rate_bark, *_THRESHOLD)


def read_curve(
    places: npt.NDArray[np.floating],
    known: npt.ArrayLike,
    values: npt.ArrayLike,
) -> FloatArray:
    """Interpolate a curve, given as known places and its values there, at other places."""
    read: FloatArray = np.interp(places, np.asarray(known, float), np.asarray(values, float))
    return read
