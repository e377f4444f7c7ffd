"""The air ring inside the tyre: a pair of lines that moves with speed and rings after edges."""

from dataclasses import dataclass

import numpy as np

from ratings.study.constants import KM_H_PER_M_S, speed_of_sound_m_s
from ratings.study.tyre_size import tyre_size
from ratings.synthesis.sketch import TyreSketch, VehicleSketch
from ratings.synthesis.speed import Series
from ratings.synthesis.structure import drive_density, level_to_pa

#: Distance between the two lines of a tyre at rest under load; 4 to 14 Hz measured by Choi and
#: Bolton, INTER-NOISE 2020.
LOAD_SPLIT_HZ = 4.0
#: Half-power width of one line: it rings down by 60 dB in 0.6 s. From memory of published spectra.
LINE_WIDTH_HZ = 3.6
#: The four wheels do not run equally warm.
_WHEEL_AIR_K = (0.8, -0.3, 0.2, -0.7)


@dataclass(frozen=True, slots=True)
class CavityLines:
    """Frequencies of the two lines in hertz, shape as the speed."""

    lower_hz: Series
    upper_hz: Series


def cavity_lines_hz(size: str, speed_km_h: Series, air_c: float = 20.0) -> CavityLines:
    """Return the pair of cavity lines at each speed.

    Notes
    -----
    f = c / (pi (D + d_rim) / 2), c = 331.3 sqrt(1 + T/273.15) m/s; load parts the pair by a few
    hertz (Choi and Bolton, INTER-NOISE 2020), rotation by once the wheel's turns per second to
    either side (Feng and Gu, on the cavity modes of a rolling loaded tyre).
    """
    measures = tyre_size(size)
    middle_hz = speed_of_sound_m_s(air_c) / measures.cavity_path_m
    turns_per_s = speed_km_h / KM_H_PER_M_S / measures.rolling_circumference_m
    apart_hz = turns_per_s + LOAD_SPLIT_HZ / 2.0
    return CavityLines(
        lower_hz=np.asarray(middle_hz - apart_hz), upper_hz=np.asarray(middle_hz + apart_hz)
    )


def cavity_ring_pa(
    vehicle: VehicleSketch,
    tyre: TyreSketch,
    drive: Series,
    speed_km_h: Series,
    sample_rate_hz: int,
) -> Series:
    """Return the sound of the cavities of four wheels at both ears, in pascal, shape (frames, 2).

    Notes
    -----
    Each line is a complex one-pole resonator in a frame that turns with the line, so that it may
    move at any speed and still ring down as it should.
    """
    rng = np.random.default_rng([vehicle.seed, 1])
    pressure_pa = np.zeros((2, drive.shape[1]))
    at_rest = cavity_lines_hz(tyre.size, np.zeros(1), tyre.cavity_air_c)
    middle_hz = float(at_rest.lower_hz[0] + at_rest.upper_hz[0]) / 2.0
    noise_width_hz = np.pi / 2.0 * LINE_WIDTH_HZ
    line_rms = np.sqrt(drive_density(middle_hz) * noise_width_hz)
    # Four wheels with two lines each, all independent above a few cycles per metre.
    share_pa = level_to_pa(vehicle.cavity_level_db + tyre.cavity_db) / np.sqrt(8.0) / line_rms
    for wheel, warmer_k in zip(drive, _WHEEL_AIR_K, strict=True):
        lines = cavity_lines_hz(tyre.size, speed_km_h, tyre.cavity_air_c + warmer_k)
        for line_hz in (lines.lower_hz, lines.upper_hz):
            ears = rng.uniform(0.7, 1.3, 2) * rng.choice([-1.0, 1.0], 2)
            ringing = _ring(wheel, line_hz, sample_rate_hz)
            pressure_pa += np.outer(ears / np.sqrt(np.mean(ears**2)) * share_pa, ringing)
    return pressure_pa.T


def _ring(drive: Series, line_hz: Series, sample_rate_hz: int) -> Series:
    from scipy.signal import lfilter

    turning = np.exp(2j * np.pi * np.cumsum(line_hz) / sample_rate_hz)
    kept = np.exp(-np.pi * LINE_WIDTH_HZ / sample_rate_hz)
    slow = lfilter([1.0 - kept], [1.0, -kept], drive * turning.conj())
    return np.asarray(2.0 * np.real(slow * turning))
