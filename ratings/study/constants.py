"""Figures that several rooms reckon with, each with its source."""

import math

#: What a sound pressure level of 0 dB is, in air (ISO 1683:2015).
REFERENCE_PRESSURE_PA = 20e-6
KM_H_PER_M_S = 3.6
#: Level of a sound calibrator's tone (IEC 60942; 114 dB are usual too; common practice).
CALIBRATOR_LEVEL_DB = 94.0
#: Chance of a false claim that a claim allows, and what an interval leaves out: common practice.
ALPHA = 0.05


def speed_of_sound_m_s(air_c: float) -> float:
    """Return the speed of sound in dry air: 331.3 sqrt(1 + T / 273.15) m/s, an ideal gas's."""
    return 331.3 * math.sqrt(1.0 + air_c / 273.15)
