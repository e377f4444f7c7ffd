"""Critical bands of the tone methods against figures that were not computed here."""

import numpy as np
import pytest

from ratings.acoustics.tones.bands import (
    critical_band_hz,
    critical_bandwidth_hz,
    lower_band_hz,
    proximity_hz,
    sum_between,
    upper_band_hz,
)

# Zwicker 1961, JASA 33, 248: width of the critical band at the middle of the band. The formula
# is an approximation to that table.
ZWICKER_HZ = {150: 100, 350: 100, 1000: 160, 2150: 320, 4000: 700, 8500: 1800}


@pytest.mark.parametrize(("frequency_hz", "width_hz"), ZWICKER_HZ.items())
def test_that_widths_are_zwickers(frequency_hz: float, width_hz: float) -> None:
    assert critical_bandwidth_hz(frequency_hz) == pytest.approx(width_hz, rel=0.13)


@pytest.mark.parametrize("frequency_hz", [89.1, 200, 499, 501, 1000, 4000, 11_200])
def test_that_neighbours_begin_where_the_band_ends(frequency_hz: float) -> None:
    low, high = critical_band_hz(frequency_hz)
    assert low < frequency_hz < high
    assert lower_band_hz(frequency_hz)[1] == low
    assert upper_band_hz(frequency_hz)[0] == high


def test_that_bands_above_500_hz_lie_at_equal_ratios() -> None:
    low, high = critical_band_hz(3000)
    assert low * high == pytest.approx(3000**2)


@pytest.mark.parametrize("frequency_hz", [180, 300, 700, 1500, 1700, 3000, 6000, 11_000])
def test_that_neighbours_are_critical_bands_themselves(frequency_hz: float) -> None:
    # Independent of the polynomials, which are fits: a band's width must suit its own middle.
    for low, high in (lower_band_hz(frequency_hz), upper_band_hz(frequency_hz)):
        middle_hz = np.sqrt(low * high) if low > 450 else (low + high) / 2
        assert high - low == pytest.approx(critical_bandwidth_hz(float(middle_hz)), rel=0.07)


@pytest.mark.parametrize("frequency_hz", [89.1, 120, 171])
def test_that_the_band_below_a_low_tone_begins_at_20_hz(frequency_hz: float) -> None:
    low, high = lower_band_hz(frequency_hz)
    assert low == 20
    assert high - low < 102


def test_that_nearness_reaches_half_the_band_at_1_khz() -> None:
    assert proximity_hz(212) == pytest.approx(21)
    assert proximity_hz(999.9) == pytest.approx(critical_bandwidth_hz(1000) / 2, rel=0.02)


def test_that_lines_cut_by_an_edge_count_in_part() -> None:
    lines = np.array([1.0, 2.0, 4.0, 8.0, 16.0])
    assert sum_between(lines, 10, 15, 25) == pytest.approx(4)
    assert sum_between(lines, 10, 10, 30) == pytest.approx(1 + 4 + 4)
    assert sum_between(lines, 10, 18, 22) == pytest.approx(0.4 * 4)
    assert sum_between(lines, 10, -50, 500) == pytest.approx(31)
    assert sum_between(lines, 10, 100, 200) == 0
