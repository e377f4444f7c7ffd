"""Spectra over time."""

import numpy as np
import pytest

from ratings.acoustics.time_map import TimeMap, TimeMapMeter

RATE_HZ = 16_000


def map_of(signal, block: int = 5_003, row_s: float = 0.5) -> TimeMap:
    samples = np.atleast_2d(signal.T).T
    meter = TimeMapMeter(RATE_HZ, samples.shape[1], row_s)
    for start in range(0, len(samples), block):
        meter.feed(samples[start : start + block])
    return meter.result()


def test_that_a_tone_stands_in_its_rows_and_lines_only() -> None:
    time_s = np.arange(4 * RATE_HZ) / RATE_HZ
    tone = np.sin(2 * np.pi * 400 * time_s) * (time_s >= 2)
    found = map_of(tone)
    assert found.time_s == pytest.approx(np.arange(8) * 0.5 + 0.25)
    line = int(np.argmin(np.abs(found.frequency_hz - 400)))
    power = found.power[0, :, line - 2 : line + 3].sum(axis=1)
    # A sine of amplitude 1 has a mean square of one half.
    assert power == pytest.approx([0, 0, 0, 0, 0.5, 0.5, 0.5, 0.5], abs=1e-6)


def test_that_the_size_of_the_blocks_changes_nothing() -> None:
    noise = np.random.default_rng(2).normal(size=(3 * RATE_HZ, 2))
    whole = map_of(noise, block=len(noise))
    for block in (1_000, 997, 65_536):
        np.testing.assert_allclose(map_of(noise, block).power, whole.power, rtol=1e-6)


def test_that_a_rest_shorter_than_a_row_is_left_out() -> None:
    noise = np.random.default_rng(2).normal(size=round(1.7 * RATE_HZ))
    assert map_of(noise).power.shape == (1, 3, 1251)
    assert map_of(noise[:1000]).power.shape == (1, 0, 1251)


def test_that_longer_rows_can_be_asked_for() -> None:
    noise = np.random.default_rng(2).normal(size=6 * RATE_HZ)
    assert map_of(noise, row_s=2.0).time_s == pytest.approx([1, 3, 5])
