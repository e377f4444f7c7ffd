"""Equivalent and time-weighted levels against standards and closed forms."""

import numpy as np
import pytest

from ratings.acoustics.levels import (
    Speed,
    equivalent_level_db,
    maximum_level_db,
    time_weighted_levels_db,
)
from ratings.errors import RecordingError

_RATE_HZ = 48_000


def _tone(frequency_hz: float, duration_s: float, phase: float = 0.0) -> np.ndarray:
    time_s = np.arange(round(duration_s * _RATE_HZ)) / _RATE_HZ
    return np.sqrt(2) * np.sin(2 * np.pi * frequency_hz * time_s + phase)


@pytest.mark.parametrize("weighting", ["A", "C", "Z"])
def test_that_one_pascal_at_1_khz_reads_93_979_db(weighting) -> None:
    # 20 log10(1 Pa / 20 uPa), reference value of ISO 1683.
    level_db = equivalent_level_db(_tone(1000, 2), _RATE_HZ, weighting)

    assert level_db == pytest.approx(93.979, abs=0.001)


@pytest.mark.parametrize("phase", [0.0, 0.5, 1.2, np.pi / 2, 3.0])
def test_that_the_phase_at_the_edges_does_not_change_the_level(phase: float) -> None:
    level_db = equivalent_level_db(_tone(1000.37, 1.0, phase), _RATE_HZ, "A")

    assert level_db == pytest.approx(93.979, abs=0.01)


def test_that_strong_boom_cut_mid_swing_does_not_ring_at_the_edges() -> None:
    # 40 dB more boom than hiss in pascal: an edge heard as a step would add to the A level.
    boom = 100 * _tone(25, 2.013, np.pi / 2)
    hiss = _tone(3000, 2.013)
    expected_db = 10 * np.log10(
        10 ** (equivalent_level_db(hiss, _RATE_HZ, "A") / 10)
        + 10 ** (equivalent_level_db(100 * _tone(25, 2.0), _RATE_HZ, "A") / 10)
    )

    assert equivalent_level_db(boom + hiss, _RATE_HZ, "A") == pytest.approx(expected_db, abs=0.05)


# IEC 61672-1:2013, table 4, reference responses to 4 kHz tonebursts relative to the steady tone
# (from memory); class 1 limits are +/- 0.5 dB at the longest and widen to the shortest.
_BURSTS = [
    ("fast", 1000, 0.0),
    ("fast", 500, -0.1),
    ("fast", 200, -1.0),
    ("fast", 100, -2.6),
    ("fast", 50, -4.8),
    ("fast", 20, -8.3),
    ("fast", 10, -11.1),
    ("fast", 5, -14.1),
    ("fast", 2, -18.0),
    ("fast", 1, -21.0),
    ("slow", 1000, -2.0),
    ("slow", 500, -4.1),
    ("slow", 200, -7.4),
    ("slow", 100, -10.2),
    ("slow", 50, -13.1),
    ("slow", 20, -17.0),
    ("slow", 10, -20.0),
    ("slow", 5, -23.0),
    ("slow", 2, -27.0),
]


@pytest.mark.parametrize(("speed", "burst_ms", "expected_db"), _BURSTS)
def test_that_a_tone_burst_reads_the_standards_response(
    speed: Speed, burst_ms: int, expected_db: float
) -> None:
    burst = np.zeros(2 * _RATE_HZ)
    start = _RATE_HZ // 4
    tone = _tone(4000, burst_ms / 1000)
    burst[start : start + len(tone)] = tone
    steady_db = equivalent_level_db(_tone(4000, 2), _RATE_HZ, "A")

    response_db = maximum_level_db(burst, _RATE_HZ, "A", speed) - steady_db

    # The table is rounded to 0.1 dB; at 1 ms the four periods of the tone ripple.
    assert response_db == pytest.approx(expected_db, abs=0.1)


def test_that_the_level_falls_at_the_rate_of_the_time_constant() -> None:
    # Closed form: 10 log10(e) / 0.125 s = 34.74 dB/s fast, 4.34 dB/s slow.
    signal = np.concatenate([_tone(1000, 1), np.zeros(_RATE_HZ)])
    for speed, fall_db_per_s in (("fast", 34.7436), ("slow", 4.34294)):
        levels_db = time_weighted_levels_db(signal, _RATE_HZ, "Z", speed)
        fell_db = levels_db[int(1.25 * _RATE_HZ)] - levels_db[int(1.75 * _RATE_HZ)]
        assert fell_db == pytest.approx(fall_db_per_s / 2, abs=1e-3)


def test_that_channels_are_measured_each_on_its_own() -> None:
    both = np.stack([_tone(1000, 1), 0.1 * _tone(250, 1)], axis=1)

    levels_db = equivalent_level_db(both, _RATE_HZ, "A")
    maxima_db = maximum_level_db(both, _RATE_HZ, "C")

    assert levels_db.shape == (2,)
    for channel in (0, 1):
        alone = both[:, channel]
        assert levels_db[channel] == pytest.approx(equivalent_level_db(alone, _RATE_HZ, "A"))
        assert maxima_db[channel] == pytest.approx(maximum_level_db(alone, _RATE_HZ, "C"))


def test_that_a_full_scale_sine_reads_3_01_db_below_an_rms_of_one() -> None:
    sine = _tone(1000, 1) / np.sqrt(2)

    assert equivalent_level_db(sine, _RATE_HZ, "A", 1.0) == pytest.approx(-3.0103, abs=0.001)


def test_that_silence_is_minus_infinity() -> None:
    silence = np.zeros((1000, 2))

    assert np.isneginf(equivalent_level_db(silence, _RATE_HZ, "A")).all()
    assert np.isneginf(maximum_level_db(silence, _RATE_HZ, "A")).all()


@pytest.mark.parametrize("signal", [np.zeros(0), np.array([0.0, np.nan, 1.0])])
def test_that_nothing_and_no_numbers_are_refused(signal: np.ndarray) -> None:
    with pytest.raises(RecordingError, match=r"no samples|not numbers"):
        equivalent_level_db(signal, _RATE_HZ, "A")
    with pytest.raises(RecordingError, match=r"no samples|not numbers"):
        time_weighted_levels_db(signal, _RATE_HZ, "A")


@pytest.mark.parametrize("frames", [2, 3, 100])
def test_that_a_handful_of_samples_has_a_level_without_complaint(frames: int) -> None:
    signal = np.sin(np.arange(frames) + 1.0)

    assert np.isfinite(equivalent_level_db(signal, _RATE_HZ, "A"))
