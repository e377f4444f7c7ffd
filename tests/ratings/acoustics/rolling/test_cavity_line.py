"""Finding lines with known content in noise, and not finding any where there are none."""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt
import pytest
from scipy.signal import welch

from ratings.acoustics.rolling.cavity_line import CavityLine, search_cavity_line
from ratings.acoustics.rolling.cavity_prediction import predicted_cavity_hz
from ratings.acoustics.rolling.spectral_line import measured_line, view_of, without_skirts
from ratings.errors import MeasurementError
from ratings.study.tyre_size import tyre_size

Array = npt.NDArray[np.float64]
RATE_HZ = 1200
FRAMES = 20 * RATE_HZ
#: 39 half-overlapping Hann windows of a second, Welch 1967.
AVERAGES = 36.997
PAIR_HZ = (198.0, 222.0)
PREDICTION = predicted_cavity_hz(tyre_size("205/55R16"), 20.0, 80.0)
FREQUENCY_HZ = np.fft.rfftfreq(FRAMES, 1 / RATE_HZ)


def noise(rng: np.random.Generator, density: Array | float = 1.0) -> Array:
    """Gaussian noise with a one-sided density relative to white noise of variance 1."""
    spectrum = np.fft.rfft(rng.standard_normal(FRAMES)) * np.sqrt(density)
    return np.fft.irfft(spectrum, FRAMES)


def random_pair(rng: np.random.Generator, over_noise_db: float, width_hz: float) -> Array:
    shape = sum(1 / (1 + (2 * (FREQUENCY_HZ - line_hz) / width_hz) ** 2) for line_hz in PAIR_HZ)
    return noise(rng, 10 ** (over_noise_db / 10) * np.asarray(shape))


def tone_pair(rng: np.random.Generator, over_noise_db: float) -> Array:
    """Tones whose density in a Hann window of a second lies so far over that of white noise."""
    time_s = np.arange(FRAMES) / RATE_HZ
    power = 10 ** (over_noise_db / 10) * 1.5 * 2 / RATE_HZ
    phases = rng.uniform(0, 2 * np.pi, 2)
    tones = [
        np.sqrt(2 * power) * np.sin(2 * np.pi * line_hz * time_s + phase)
        for line_hz, phase in zip(PAIR_HZ, phases, strict=True)
    ]
    return np.sum(tones, axis=0)


def found_in(pressure: Array) -> CavityLine | None:
    power = welch(pressure, RATE_HZ, nperseg=RATE_HZ)[1]
    return search_cavity_line(power, 1.0, AVERAGES, PREDICTION, reference=1.0).line


def humps(rng: np.random.Generator) -> Array:
    """Six body resonances 20 to 50 Hz wide, up to 13 dB over their ground."""
    density = np.full(FREQUENCY_HZ.size, 0.05)
    for _ in range(6):
        middle_hz, width_hz = rng.uniform(120, 330), rng.uniform(20, 50)
        density += rng.uniform(0.2, 1) / (1 + (2 * (FREQUENCY_HZ - middle_hz) / width_hz) ** 2)
    return density


def flat(_rng: np.random.Generator) -> Array:
    return np.ones(FREQUENCY_HZ.size)


def falling(_rng: np.random.Generator) -> Array:
    return (np.maximum(FREQUENCY_HZ, 20) / 100) ** -2


@pytest.mark.slow
@pytest.mark.parametrize("ground", [flat, falling, humps])
def test_that_noise_without_a_line_has_one_in_less_than_1_percent_of_recordings(
    ground: Callable[[np.random.Generator], Array],
) -> None:
    rng = np.random.default_rng(11)
    rounds = 400
    alarms = sum(found_in(noise(rng, ground(rng))) is not None for _ in range(rounds))
    assert alarms / rounds < 0.01


@pytest.mark.slow
@pytest.mark.parametrize(("duration_s", "averages"), [(2, 2.893), (5, 8.576)])
def test_that_short_recordings_raise_no_more_alarms(duration_s: int, averages: float) -> None:
    rng = np.random.default_rng(21)
    rounds = 600
    alarms = 0
    for _ in range(rounds):
        sound = rng.standard_normal(duration_s * RATE_HZ)
        power = welch(sound, RATE_HZ, nperseg=RATE_HZ)[1]
        alarms += search_cavity_line(power, 1.0, averages, PREDICTION).line is not None
    assert alarms / rounds < 0.01


@pytest.mark.slow
@pytest.mark.parametrize("width_hz", [2.0, 3.6, 6.0], ids=lambda width: f"{width} Hz wide")
def test_that_a_pair_3_db_above_noise_is_found_within_2_hz_in_95_percent(width_hz: float) -> None:
    rng = np.random.default_rng(12)
    rounds = 200
    right = 0
    for _ in range(rounds):
        found = found_in(noise(rng) + random_pair(rng, 3.0, width_hz))
        if found is not None:
            apart_hz = [
                min(abs(line.frequency_hz - true_hz) for true_hz in PAIR_HZ) for line in found.lines
            ]
            right += max(apart_hz) <= 2.0
    assert right / rounds >= 0.95


def test_that_both_lines_of_a_clear_pair_are_told() -> None:
    rng = np.random.default_rng(13)
    found = found_in(noise(rng, humps(rng)) + random_pair(rng, 10.0, 3.6))
    assert found is not None
    assert found.lower is not None
    assert found.upper is not None
    assert found.lower.frequency_hz == pytest.approx(PAIR_HZ[0], abs=2.0)
    assert found.upper.frequency_hz == pytest.approx(PAIR_HZ[1], abs=2.0)
    assert found.lines == (found.lower, found.upper)
    assert found.strongest in found.lines


def test_that_a_tone_reads_its_own_level_and_its_height() -> None:
    rng = np.random.default_rng(14)
    time_s = np.arange(FRAMES) / RATE_HZ
    tone = np.sqrt(2) * 0.5 * np.sin(2 * np.pi * 211.3 * time_s)
    found = found_in(0.1 * noise(rng) + tone)
    assert found is not None
    assert (found.lower, found.upper) == (None, None)
    assert found.strongest.frequency_hz == pytest.approx(211.3, abs=0.1)
    assert found.level_db == pytest.approx(20 * np.log10(0.5), abs=0.1)
    # Density 0.25 / 1.5 Hz less the scallop of 0.3 Hz, over 0.01 * 2 / 1200 per hertz.
    over_db = 10 * np.log10(0.25 / 1.5 / (0.01 * 2 / 1200))
    assert found.strongest.prominence_db == pytest.approx(over_db - 0.51, abs=0.7)


def test_that_a_line_lowered_by_4_db_changes_by_4_db() -> None:
    rng = np.random.default_rng(15)
    changes_db = []
    for _ in range(6):
        before = found_in(0.2 * noise(rng) + random_pair(rng, 3.0, 3.6))
        after = found_in(0.2 * noise(rng) + random_pair(rng, -1.0, 3.6))
        assert before is not None
        assert after is not None
        changes_db.append(after.level_db - before.level_db)
    assert np.mean(changes_db) == pytest.approx(-4.0, abs=0.3)


def test_that_a_single_resonance_20_hz_wide_is_no_cavity_line() -> None:
    rng = np.random.default_rng(17)
    hump = 1 + 10 / (1 + (2 * (FREQUENCY_HZ - 210) / 20) ** 2)
    assert found_in(noise(rng, hump)) is None


def test_that_ripple_all_over_the_spectrum_is_no_cavity_line() -> None:
    # Two axles over the same bumps: 8 Hz from crest to crest at 80 km/h.
    rng = np.random.default_rng(18)
    ripple = 1 + 0.8 * np.cos(2 * np.pi * FREQUENCY_HZ / 8.35)
    assert found_in(noise(rng, ripple)) is None


def test_that_channels_are_searched_by_their_mean() -> None:
    rng = np.random.default_rng(19)
    power = welch(np.stack([noise(rng) + tone_pair(rng, 6.0), noise(rng)]), RATE_HZ, nperseg=1200)[
        1
    ]
    both = search_cavity_line(power, 1.0, AVERAGES, PREDICTION).line
    assert both == search_cavity_line(power.mean(axis=0), 1.0, AVERAGES, PREDICTION).line
    assert both is not None


@pytest.mark.parametrize("tone_hz", [20.0, 63.3, 450.0])
def test_that_the_skirt_of_a_pure_tone_has_no_line(tone_hz: float) -> None:
    tone = np.cos(2 * np.pi * tone_hz * np.arange(FRAMES) / RATE_HZ)
    assert found_in(tone) is None
    rounded = np.round(tone * 2**30) / 2**30
    assert found_in(rounded) is None
    power = welch(tone, RATE_HZ, nperseg=RATE_HZ)[1]
    view = view_of(power, 1.0, AVERAGES, PAIR_HZ, 20e-6)
    assert view is not None
    places = [int(np.argmin(np.abs(view.frequency_hz - line_hz))) for line_hz in PAIR_HZ]
    view = without_skirts(view, AVERAGES, places)
    for line in (measured_line(view, place) for place in places):
        assert line.level_db < 10 * np.log10(power.max() / 20e-6**2) - 90
        assert line.prominence_db < 1.0


def test_that_a_line_80_db_below_the_turning_of_the_wheels_is_found() -> None:
    time_s = np.arange(FRAMES) / RATE_HZ
    turning = 1e4 * np.sin(2 * np.pi * 11.2 * time_s)
    found = found_in(turning + np.sin(2 * np.pi * 210 * time_s))
    assert found is not None
    assert found.strongest.frequency_hz == pytest.approx(210, abs=0.1)


def test_that_silence_has_no_line() -> None:
    assert search_cavity_line(np.zeros(601), 1.0, AVERAGES, PREDICTION).line is None


@pytest.mark.parametrize(
    ("resolution_hz", "lines", "words"), [(4.0, 600, "too coarse"), (1.0, 200, "does not reach")]
)
def test_that_an_unsuitable_spectrum_is_refused(
    resolution_hz: float, lines: int, words: str
) -> None:
    with pytest.raises(MeasurementError, match=words):
        search_cavity_line(np.ones(lines), resolution_hz, AVERAGES, PREDICTION)
