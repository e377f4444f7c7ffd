"""Curves of the roughness model: the ear, weights of bands and of modulation frequencies."""

from typing import Final

import numpy as np
import numpy.typing as npt

from ratings.acoustics.audibility import Curve, FloatArray, read_curve

HIGHEST_HZ: Final = 16_000.0
BANDS: Final = 47
BAND_STEP_BARK: Final = 0.5

# The curves below are printed in the sources as figures only. The readings are the ones that go
# round in open implementations of the model (here: compared with MoSQITo 1.2.1, Apache-2.0).

# Zwicker and Fastl 1990, figure 8.18: from the free field to the inner ear, dB over Bark.
_EAR: Final[Curve] = (
    (0, 10, 12, 13, 14, 15, 16, 16.5, 17, 18, 18.5, 19, 20, 21, 21.5, 22, 22.5, 23, 23.5, 24, 25),
    (0, 0, 1.15, 2.31, 3.85, 5.62, 6.92, 7.38, 6.92, 4.23, 2.31, 0, -1.43, -2.59, -3.57, -5.19,
     -7.41, -11.3, -20, -40, -130),
)  # fmt: skip

# Aures 1985, Acustica 58, 268: what a whole Bark contributes, over Bark.
_BAND_WEIGHT: Final[Curve] = (
    tuple(range(25)),
    (0.15, 0.26, 0.38, 0.47, 0.54, 0.65, 0.76, 0.83, 0.90, 0.98, 0.98, 0.90, 0.80, 0.70, 0.62, 0.54,
     0.49, 0.43, 0.39, 0.35, 0.30, 0.30, 0.30, 0.30, 0.30),
)  # fmt: skip

# Daniel and Weber 1997, figure 2: weight over modulation frequency in Hz, for bands 2 ... 42.
_MODULATION: Final[dict[int, Curve]] = {
    2: ((0, 17, 23, 25, 32, 37, 48, 67, 90, 114, 171, 206, 247, 294, 358),
        (0, 0.8, 0.95, 0.975, 1, 0.975, 0.9, 0.8, 0.7, 0.6, 0.4, 0.3, 0.2, 0.1, 0)),
    5: ((0, 32, 43, 56, 69, 92, 120, 142, 165, 231, 277, 331, 397, 502),
        (0, 0.8, 0.95, 1, 0.975, 0.9, 0.8, 0.7, 0.6, 0.4, 0.3, 0.2, 0.1, 0)),
    16: ((0, 23.5, 34, 47, 56, 63, 79, 100, 115, 135, 159, 172, 194, 215, 244, 290, 348, 415, 500,
          645),
         (0, 0.4, 0.6, 0.8, 0.9, 0.95, 1, 0.975, 0.95, 0.9, 0.85, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2,
          0.1, 0)),
    21: ((0, 19, 44, 52.5, 58, 75, 101.5, 114.5, 132.5, 143.5, 165.5, 197.5, 241, 290, 348, 415,
          500, 645),
         (0, 0.4, 0.8, 0.9, 0.95, 1, 0.95, 0.9, 0.85, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2, 0.1, 0)),
    42: ((0, 15, 41, 49, 53, 64, 71, 88, 94, 106, 115, 137, 180, 238, 290, 348, 415, 500, 645),
         (0, 0.4, 0.8, 0.9, 0.965, 0.99, 1, 0.95, 0.9, 0.85, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2, 0.1,
          0)),
}  # fmt: skip

HIGHEST_MODULATION_HZ: Final = 645.0


def ear_gain_db(rate_bark: npt.NDArray[np.floating]) -> FloatArray:
    """Return the gain from the free field to the inner ear in dB."""
    return read_curve(rate_bark, *_EAR)


def band_weights() -> FloatArray:
    """Return the weights of the bands at 0.5, 1 ... 23.5 Bark, shape (47,)."""
    return read_curve(np.arange(1, BANDS + 1) * BAND_STEP_BARK, *_BAND_WEIGHT)


def modulation_weights(modulation_hz: npt.NDArray[np.floating]) -> FloatArray:
    """Return the weights of modulation frequencies in each band, shape (47, frequencies).

    Notes
    -----
    Bands between two printed curves are read in two ways by those who use the model. Here each
    band below the 21st takes the curve printed next below it; from there to the 42nd the two are
    interpolated. With interpolation below as well, the curves of
    `tests/ratings/acoustics/test_roughness_curves.py` are missed by 0.055 instead of 0.039 asper
    (root mean square) at 250 Hz; without it above, by 0.058 instead of 0.018 at 4 kHz.
    """
    printed = {band: read_curve(modulation_hz, *curve) for band, curve in _MODULATION.items()}
    weights = np.empty((BANDS, len(modulation_hz)))
    for first, last in ((1, 4), (5, 15), (16, 20), (42, 47)):
        weights[first - 1 : last] = printed[2 if first == 1 else first]
    for band in range(21, 42):
        share = (band - 21) / 21
        weights[band - 1] = (1 - share) * printed[21] + share * printed[42]
    return weights
