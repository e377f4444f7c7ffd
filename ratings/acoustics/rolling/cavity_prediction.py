"""Where the air ring inside a rolling tyre is expected to sound."""

from dataclasses import dataclass

import numpy as np

from ratings.errors import MeasurementError
from ratings.study.constants import KM_H_PER_M_S, speed_of_sound_m_s
from ratings.study.tyre_size import TyreSize

#: Distance of the two lines at rest under load, Choi and Bolton, INTER-NOISE 2020.
LOAD_SPLIT_HZ = (4.0, 14.0)
#: A line may lie lower, because the path is rough to some per cent, or higher, because a rolling
#: tyre's air warms up (5 % from 20 to 50 C). Common practice, no source.
_LOWER_SHARE, _HIGHER_SHARE = 0.96, 1.06
#: What a road car may have driven when nobody noted the speed.
_UNKNOWN_UP_TO_KM_H = 130.0


@dataclass(frozen=True, slots=True)
class CavityPrediction:
    """Expected cavity resonance of one tyre.

    Attributes
    ----------
    centre_hz
        Frequency without load and rotation: one wavelength around the ring of air.
    lines_hz
        The expected pair, lower one first; the centre alone when the speed is not known.
    range_hz
        Where to look for the lines, lowest and highest.
    apart_hz
        Least and largest distance of the pair; None when the speed is not known.
    """

    centre_hz: float
    lines_hz: tuple[float, ...]
    range_hz: tuple[float, float]
    apart_hz: tuple[float, float] | None = None


def predicted_cavity_hz(
    tyre: TyreSize, air_c: float = 20.0, speed_km_h: float | None = None
) -> CavityPrediction:
    """Predict the cavity lines of a tyre.

    Parameters
    ----------
    air_c
        Temperature of the air in the tyre; that of the outside air where it is not known.
    speed_km_h
        0 for a tyre at rest, None when it is not known.

    Raises
    ------
    MeasurementError
        When temperature or speed are none that a tyre rolls at.

    Notes
    -----
    f = c / (pi (D + d_rim) / 2) with c = 331.3 sqrt(1 + T / 273.15) m/s; 190 to 250 Hz are typical
    (SAE 2009-01-2104). Load parts the pair by s = 4 to 14 Hz (Choi and Bolton, INTER-NOISE 2020),
    rotation moves its members by once the turns per second r to either side (Feng and Gu, on the
    cavity modes of a rolling loaded tyre). Both together: to first order, two modes that the load
    detunes and the turning air couples lie at f -/+ sqrt(r^2 + (s/2)^2); derived here. The range
    also holds their plain sum r + s/2.
    """
    refuse_implausible_air(air_c)
    if speed_km_h is not None and not 0.0 <= speed_km_h <= 400.0:
        raise MeasurementError(
            f"{speed_km_h:g} km/h is not a valid speed.", "Give the speed in km/h."
        )
    centre_hz = speed_of_sound_m_s(air_c) / tyre.cavity_path_m
    turns_per_s = wheel_turns_per_s(tyre, speed_km_h or 0.0)
    fastest_per_s = wheel_turns_per_s(
        tyre, _UNKNOWN_UP_TO_KM_H if speed_km_h is None else speed_km_h
    )
    least, most = LOAD_SPLIT_HZ
    apart_hz = float(np.hypot(turns_per_s, (least + most) / 4.0))
    reach_hz = fastest_per_s + most / 2.0
    lines_hz = (centre_hz - apart_hz, centre_hz + apart_hz)
    return CavityPrediction(
        centre_hz=centre_hz,
        lines_hz=(centre_hz,) if speed_km_h is None else lines_hz,
        range_hz=(
            _LOWER_SHARE * centre_hz - reach_hz,
            _HIGHER_SHARE * centre_hz + reach_hz,
        ),
        apart_hz=None
        if speed_km_h is None
        else (2.0 * float(np.hypot(turns_per_s, least / 2.0)), 2.0 * turns_per_s + most),
    )


def refuse_implausible_air(air_c: float) -> None:
    """Refuse a temperature, in degrees Celsius, that the air in no tyre has.

    Raises
    ------
    MeasurementError
    """
    if not -60.0 <= air_c <= 150.0:
        raise MeasurementError(
            f"The air in a tyre cannot have {air_c:g} C.",
            "Give its temperature in degrees Celsius.",
        )


def wheel_turns_per_s(tyre: TyreSize, speed_km_h: float) -> float:
    """Return how often the wheel turns in a second."""
    return speed_km_h / KM_H_PER_M_S / tyre.rolling_circumference_m
