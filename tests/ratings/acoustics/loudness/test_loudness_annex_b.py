"""The test signals of ISO 532-1:2017, annex B: made as described, and as recorded."""

import numpy as np
import pytest
import soundfile
from annex_signals import RATE_HZ, TONES, made_signal
from reference_data import beside, copied

from ratings.acoustics.loudness.meter import Loudness, loudness
from ratings.acoustics.loudness.stationary import stationary_loudness

ANNEX = {
    int(number): expected
    for number, expected in copied("acoustics/iso532_annex_b")["signals"].items()
}
#: The recordings that lie beside the checkout, with their titles.
STEADY = {2: "250 Hz 80 dB", 3: "1 kHz 60 dB", 5: "pinknoise 60 dB"}
CHANGING = {
    6: "tone 250 Hz 30 dB - 80 dB",
    9: "pink noise 0 dB - 50 dB",
    10: "tone pulse 1 kHz 10 ms 70 dB",
    14: "propeller-driven airplane",
    15: "vehicle interior 40 kmh",
    18: "hammer",
    20: "shaking coins",
    25: "full can rattle",
}
#: What the samples are multiplied with to give pascal.
PA_PER_FULL_SCALE = 2 * 2**0.5
#: Rows of the loudness over time from which the annex's N5 was taken.
N5_ROWS = {10: slice(None), 11: slice(None), 18: slice(50, None)}


def recorded_signal(number: int) -> np.ndarray:
    title = (STEADY | CHANGING)[number]
    path = beside(f"acoustics/iso532-1/Test signal {number} ({title}).wav")
    samples, rate_hz = soundfile.read(path, always_2d=True)
    assert rate_hz == RATE_HZ
    return samples * PA_PER_FULL_SCALE


def recorded(number: int) -> Loudness:
    return loudness(recorded_signal(number), RATE_HZ, ANNEX[number].get("field", "free"))


def reference(number: int) -> np.ndarray:
    from scipy.io import loadmat

    name = f"reference_values_ISO532_1_2017_signal_{number}.mat"
    return loadmat(beside(f"acoustics/iso532-1/{name}"))["reference"]


def n5_sone(found: Loudness, number: int) -> float:
    """As the annex takes it: most signals without their first 0.1 s and last 0.5 s."""
    course = found.time_history_sone[:, 0]
    return float(np.percentile(course[N5_ROWS.get(number, slice(50, len(course) - 250))], 95))


def test_that_the_levels_of_signal_1_have_the_loudness_of_the_annex() -> None:
    found = stationary_loudness(np.array(ANNEX[1]["third_octave_db"], dtype=float), "free")
    assert found.n_sone == pytest.approx(ANNEX[1]["n_sone"], rel=1e-4)
    assert found.specific_loudness == pytest.approx(ANNEX[1]["specific_loudness"], abs=0.002)


@pytest.mark.parametrize(
    ("number", "share", "pattern_sone_per_bark"),
    # The standard allows 5 % or 0.1 sone. A tone is known exactly, the annex's figure of 40 dB
    # belongs to a recording of 16 bits; third octaves of the noise are known to 0.1 dB: 0.7 %.
    [(2, 0.001, 0.002), (3, 0.001, 0.002), (4, 0.005, None), (5, 0.007, 0.02)],
)
def test_that_a_made_steady_signal_has_the_loudness_of_the_annex(
    number: int, share: float, pattern_sone_per_bark: float | None
) -> None:
    found = loudness(made_signal(number), RATE_HZ, "free")
    assert found.n_sone == pytest.approx([ANNEX[number]["n_sone"]], rel=share)
    if number in TONES:
        assert found.n5_sone == pytest.approx(found.n_sone, rel=1e-4)
        assert found.time_history_sone[-1] == pytest.approx(found.n_sone, rel=1e-4)
    if pattern_sone_per_bark is not None:
        expected = pytest.approx(ANNEX[number]["specific_loudness"], abs=pattern_sone_per_bark)
        assert found.specific_loudness[0] == expected


@pytest.mark.parametrize(
    ("number", "n5_share", "nmax_share"),
    # Largest of six noises tried for signal 9: 2.3 and 4.2 %; how the annex's noise fluctuates is
    # its own. Of the longest pulse N5 hangs on a silence that its title does not tell.
    [
        (6, 0.002, 0.005),
        (7, 0.002, 0.005),
        (8, 0.002, 0.005),
        (9, 0.03, 0.05),
        (10, 0.015, 0.012),
        (11, 0.01, 0.003),
        (12, None, 0.002),
    ],
)
def test_that_a_made_changing_signal_has_the_loudness_of_the_annex(
    number: int, n5_share: float | None, nmax_share: float
) -> None:
    found = loudness(made_signal(number), RATE_HZ, "free")
    assert found.nmax_sone == pytest.approx([ANNEX[number]["nmax_sone"]], rel=nmax_share)
    if n5_share is not None:
        assert n5_sone(found, number) == pytest.approx(ANNEX[number]["n5_sone"], rel=n5_share)


@pytest.mark.parametrize("number", STEADY)
def test_that_a_recorded_steady_signal_has_the_loudness_of_the_annex(number: int) -> None:
    found = recorded(number)
    # The standard allows 5 %; the same filters and tables leave much less.
    assert found.n_sone == pytest.approx([ANNEX[number]["n_sone"]], rel=1e-4)
    pattern, low, high = reference(number)[:, 1:4].T
    assert ((found.specific_loudness >= low) & (found.specific_loudness <= high)).all()
    assert found.specific_loudness[0] == pytest.approx(pattern, abs=0.002)
    assert pattern == pytest.approx(ANNEX[number]["specific_loudness"], abs=0.0005)


@pytest.mark.parametrize("number", CHANGING)
def test_that_a_recorded_changing_signal_has_the_loudness_of_the_annex(number: int) -> None:
    found = recorded(number)
    course = found.time_history_sone[:, 0]
    assert n5_sone(found, number) == pytest.approx(ANNEX[number]["n5_sone"], rel=1e-3)
    assert course.max() == pytest.approx(ANNEX[number]["nmax_sone"], rel=1e-3)
    given, low, high = reference(number)[:, 1:4].T
    assert len(course) == len(given)
    # The figures are printed with three decimals.
    assert (course >= low - 0.0005).all()
    assert (course <= high + 0.0005).all()
    assert course == pytest.approx(given, abs=0.02)


def audible_level_db(signal: np.ndarray, seconds: float) -> float:
    """Level from 20 Hz to 20 kHz, averaged over some seconds."""
    spectrum = np.abs(np.fft.rfft(signal[:, 0])) ** 2
    frequency_hz = np.fft.rfftfreq(len(signal), 1 / RATE_HZ)
    inside = (frequency_hz > 20) & (frequency_hz < 20_000)
    power = 2 * spectrum[inside].sum() / len(signal) / RATE_HZ / seconds
    return float(10 * np.log10(power / 20e-6**2))


def test_that_the_made_signals_are_as_loud_in_decibels_as_the_recorded_ones() -> None:
    for number in (2, 3, 5, 6, 9, 10):
        signals = made_signal(number), recorded_signal(number)
        # A rise and a pulse have an energy whatever the silence beside them; a steady sound lasts.
        lengths_s = [len(each) / RATE_HZ if number in STEADY else 1.0 for each in signals]
        ours, theirs = map(audible_level_db, signals, lengths_s)
        assert ours == pytest.approx(theirs, abs=0.2), number
