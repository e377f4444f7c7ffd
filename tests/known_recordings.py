"""Pressure of known content, for recordings to be measured."""

import numpy as np

Samples = np.ndarray
FULL_SCALE_PA = 20.0


def tone_pa(frequency_hz: float, level_db: float, seconds: float, rate_hz: int) -> Samples:
    time_s = np.arange(round(seconds * rate_hz)) / rate_hz
    rms_pa = 20e-6 * 10 ** (level_db / 20)
    return np.sqrt(2) * rms_pa * np.sin(2 * np.pi * frequency_hz * time_s)


def resonance_pa(
    frequency_hz: float, level_db: float, duration_s: float, sample_rate_hz: int
) -> np.ndarray:
    """What rings in noise: a line 3.6 Hz wide at half power, as of a tyre's cavity."""
    from scipy.signal import iirpeak, lfilter

    noise = np.random.default_rng(int(frequency_hz)).standard_normal(
        round(duration_s * sample_rate_hz)
    )
    ringing = lfilter(*iirpeak(frequency_hz, frequency_hz / 3.6, sample_rate_hz), noise)
    return ringing / ringing.std() * 20e-6 * 10 ** (level_db / 20)


def noise_pa(level_db: float, seconds: float, rate_hz: int, seed: int = 1) -> Samples:
    rms_pa = 20e-6 * 10 ** (level_db / 20)
    return np.random.default_rng(seed).normal(0, rms_pa, round(seconds * rate_hz))
