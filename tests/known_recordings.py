"""Pressure of known content, for recordings to be measured."""

from collections.abc import Callable

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


def noise_of_density_pa(
    density_pa2_per_hz: Callable[[Samples], Samples], seconds: float, rate_hz: int, seed: int = 1
) -> Samples:
    """Noise whose spectrum is exactly as wished above 0 Hz; only its phases are drawn."""
    frames = round(seconds * rate_hz)
    frequency_hz = np.fft.rfftfreq(frames, 1 / rate_hz)[1:]
    phase = np.random.default_rng(seed).uniform(0, 2 * np.pi, len(frequency_hz))
    amplitude_pa = np.sqrt(2 * density_pa2_per_hz(frequency_hz) / seconds)
    return np.fft.irfft(np.append(0, amplitude_pa / 2 * np.exp(1j * phase)), frames) * frames


def band_noise_pa(
    low_hz: float, high_hz: float, level_db: float, seconds: float, rate_hz: int
) -> Samples:
    """Noise with a flat spectrum between two edges."""
    density_pa2_per_hz = 20e-6**2 * 10 ** (level_db / 10) / (high_hz - low_hz)
    return noise_of_density_pa(
        lambda hz: density_pa2_per_hz * ((hz >= low_hz) & (hz < high_hz)), seconds, rate_hz
    )


def pink_noise_pa(third_db: float, seconds: float, rate_hz: int) -> Samples:
    """Noise of one level in every third octave (base ten), from one period of the whole on."""
    # A third octave holds ln(10) / 10 of f times the density at f.
    third_pa2 = 20e-6**2 * 10 ** (third_db / 10)
    return noise_of_density_pa(lambda hz: third_pa2 * 10 / np.log(10) / hz, seconds, rate_hz)
