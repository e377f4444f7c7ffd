"""Signals of ISO 532-1:2017, annex B, made from what the annex says of them.

The annex's recordings may not be copied. Level, frequency and length are in their titles; what the
titles leave open was measured on the recordings and is said below. Signal 13 (pulses combined in a
way that its title does not tell) and the recorded sounds 14 to 25 cannot be made.
"""

import numpy as np
from known_recordings import pink_noise_pa, tone_pa
from scipy.special import erf

RATE_HZ = 48_000
#: Frequency and level of the steady tones.
TONES = {2: (250, 80), 3: (1000, 60), 4: (4000, 40)}
#: Frequencies of the tones that rise from 30 to 80 dB.
RISING_TONES_HZ = {6: 250, 7: 1000, 8: 4000}
#: Lengths of the tone pulses, 1 kHz at 70 dB, in milliseconds.
PULSES_MS = {10: 10, 11: 50, 12: 500}
#: Third octaves of steady pink noise: the 60 dB of its title hold all from 0.1 Hz on.
PINK_THIRD_DB = 42.7
#: Third octaves at the start of the rising pink noise, "0 dB" in its title.
RISING_PINK_THIRD_DB = 8.7
#: The rise takes this long; silence before, and half a second after.
_RISE_S, _SILENCE_S, _RISING_LENGTH_S = 10.0, 0.1, 10.6
_PULSE_AT_S = 0.014
MADE = (*TONES, 5, *RISING_TONES_HZ, 9, *PULSES_MS)


def made_signal(number: int) -> np.ndarray:
    """Make a signal of the annex: pascal at 48 kHz in a free field, shape (frames, 1)."""
    if number in TONES:
        signal = tone_pa(*TONES[number], 2.0, RATE_HZ)
    elif number == 5:
        signal = pink_noise_pa(PINK_THIRD_DB, 2.0, RATE_HZ)
    elif number in RISING_TONES_HZ:
        signal = _rising(tone_pa(RISING_TONES_HZ[number], 30, _RISING_LENGTH_S, RATE_HZ))
    elif number == 9:
        signal = _rising(pink_noise_pa(RISING_PINK_THIRD_DB, _RISING_LENGTH_S, RATE_HZ))
    else:
        # Signal 10 lies around 19 ms, 0.9 ms longer at half height than its title says.
        start_s = _PULSE_AT_S - 0.00045
        end_s = _PULSE_AT_S + PULSES_MS[number] / 1000 + 0.00045
        signal = tone_pa(1000, 70, 1.0, RATE_HZ) * _gate(start_s, end_s, RATE_HZ)
    return signal[:, None]


def _rising(signal: np.ndarray) -> np.ndarray:
    """Let a sound rise by 50 dB between its silences."""
    time_s = np.arange(len(signal)) / RATE_HZ
    rise_db = 50 * np.clip(time_s - _SILENCE_S, 0, _RISE_S) / _RISE_S
    return signal * 10 ** (rise_db / 20) * _gate(_SILENCE_S, _SILENCE_S + _RISE_S, len(signal))


def _gate(start_s: float, end_s: float, frames: int) -> np.ndarray:
    """Soft switch; the annex's signals rise and fall within about 2 ms."""
    time_s = np.arange(frames) / RATE_HZ
    return 0.5 * (erf((time_s - start_s) / 0.0011) - erf((time_s - end_s) / 0.0011))
