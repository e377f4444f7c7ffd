"""The low lines of a spectrum from stretch to stretch."""

import numpy as np
import pytest

from ratings.acoustics.lines_over_time import MOST_PARTS, LinesOverTimeMeter
from ratings.acoustics.narrow_band import SpectrumMeter


@pytest.mark.parametrize(("spectra", "parts"), [(15, 15), (32, 32), (33, 17), (100, 25)])
def test_that_the_parts_are_few_and_hold_all_spectra_in_their_order(
    spectra: int, parts: int
) -> None:
    meter = LinesOverTimeMeter(channels=1, lines=3)
    values = np.arange(1.0, spectra + 1.0)
    for value in values:
        meter.add(np.full((1, 5), value, dtype=complex), np.full((1, 5), value))
    found = meter.result()
    assert found is not None
    assert found.power.shape == (1, parts, 3)
    assert parts <= MOST_PARTS
    per_part = 2 ** int(np.ceil(np.log2(spectra / parts)))
    expected = [values[at : at + per_part].mean() for at in range(0, spectra, per_part)]
    np.testing.assert_allclose(found.power[0, :, 1], expected)


def test_that_the_parts_of_a_recording_average_to_its_spectrum() -> None:
    meter = SpectrumMeter(1000, 2)
    meter.feed(np.random.default_rng(1).standard_normal((8_000, 2)))
    found = meter.result()
    assert found.over_time is not None
    lines = found.over_time.power.shape[2]
    np.testing.assert_allclose(found.over_time.power.mean(axis=1), found.power[:, :lines])


def test_that_silence_and_less_than_two_stretches_say_nothing() -> None:
    for sound in (np.zeros((8_000, 1)), np.ones((1_400, 1))):
        meter = SpectrumMeter(1000, 1)
        meter.feed(sound)
        assert meter.result().over_time is None


def test_that_a_low_sample_rate_is_followed_as_far_as_it_reaches() -> None:
    meter = SpectrumMeter(600, 1)
    meter.feed(np.random.default_rng(1).standard_normal((3_000, 1)))
    found = meter.result().over_time
    assert found is not None
    assert found.phase_coherence.shape == (1, 300)
