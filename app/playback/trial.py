"""Sounds to set and check the level by before the first pair: a tone and a noise."""

import functools

import numpy as np
from numpy.typing import NDArray

from app.playback.pair import CHANNELS, LoadedPair
from ratings.acoustics.levels import clip_levels

TRIAL_RATE_HZ = 48000
TONE_HZ = 1000
TONE_DB = 60.0
"""Level of the tone at the ear if the figure of the output is right: about that of people talking
at 1 m (common practice, no source); 20 dB too loud would still do no harm in minutes."""
_LENGTH_S = 5
_LOWEST_HZ = 20.0
_HIGHEST_PEAK = 0.99


def level_tone(full_scale_sine_db: float) -> LoadedPair:
    """Return a tone of 1 kHz that gives `TONE_DB` where a full-scale sine gives this level."""
    frames = np.arange(_LENGTH_S * TRIAL_RATE_HZ)
    sine = np.sin(2 * np.pi * TONE_HZ / TRIAL_RATE_HZ * frames)
    gain = float(10.0 ** ((TONE_DB - full_scale_sine_db) / 20.0))
    return _on_both_sides(sine, gain, gain)


def trial_noise(leq_a_db_re_full_scale: float, gain: float) -> LoadedPair:
    """Return a noise of this A-weighted level before gain; the gain may go up to 1.

    Equal power in each octave, as far as that leaves its peak within full scale: like a cabin, and
    like no clip.
    """
    noise = _pink_noise()
    loudest = _HIGHEST_PEAK / float(np.abs(noise).max())
    return _on_both_sides(
        noise * min(loudest, 10.0 ** ((leq_a_db_re_full_scale - _pink_db_a()) / 20.0)), gain, 1.0
    )


def _on_both_sides(sound: NDArray[np.float64], gain: float, highest_gain: float) -> LoadedPair:
    clip = np.repeat(sound.astype(np.float32)[:, np.newaxis], CHANNELS, axis=1)
    levels = clip_levels(sound[:, np.newaxis], TRIAL_RATE_HZ)
    return LoadedPair(clip, clip, TRIAL_RATE_HZ, gain, gain, highest_gain, levels, levels)


@functools.cache
def _pink_noise() -> NDArray[np.float64]:
    frames = _LENGTH_S * TRIAL_RATE_HZ
    spectrum = np.fft.rfft(np.random.default_rng(1).standard_normal(frames))
    frequency_hz = np.fft.rfftfreq(frames, 1 / TRIAL_RATE_HZ)
    spectrum *= frequency_hz >= _LOWEST_HZ
    spectrum /= np.sqrt(np.maximum(frequency_hz, _LOWEST_HZ))
    noise = np.fft.irfft(spectrum, frames)
    return np.asarray(noise / np.abs(noise).max(), np.float64)


@functools.cache
def _pink_db_a() -> float:
    return clip_levels(_pink_noise()[:, np.newaxis], TRIAL_RATE_HZ).leq_a_db_re_full_scale
