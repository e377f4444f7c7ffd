"""Rates that files round or give as a time axis, and units of pressure."""

import numpy as np
import pytest

from ratings.recordings.files.sample_rates import even_rate_hz, whole_rate_hz
from ratings.recordings.files.sources import pa_per_unit

_USUAL_HZ = [8_000, 16_384, 25_600, 32_768, 44_100, 48_000, 51_200, 65_536, 96_000, 102_400]


@pytest.mark.parametrize("rate_hz", [*_USUAL_HZ, 192_000, 262_144])
def test_that_a_spacing_of_six_digits_gives_the_rate_it_means(rate_hz: int) -> None:
    assert whole_rate_hz(1 / float(f"{1 / rate_hz:.5e}")) == rate_hz


@pytest.mark.parametrize("rate_hz", [0.0, -48_000.0, 0.3, 8_192.5, float("nan"), float("inf")])
def test_that_what_is_no_whole_rate_gives_none(rate_hz: float) -> None:
    assert whole_rate_hz(rate_hz) is None


def _rate(times_s: np.ndarray, *, is_single: bool = False) -> float | None:
    return even_rate_hz(len(times_s), lambda a, b: times_s[a:b].astype(float), is_single=is_single)


def test_that_an_even_axis_gives_its_rate_even_in_single_precision() -> None:
    times_s = np.arange(48_000 * 60) / 48_000

    assert _rate(times_s + 1e3) == pytest.approx(48_000)
    assert _rate(times_s.astype("f4"), is_single=True) == pytest.approx(48_000)


@pytest.mark.parametrize("gap_at", [2, 1_000, 5_000, 9_998])
def test_that_a_single_sample_left_out_is_noticed(gap_at: int) -> None:
    times_s = np.arange(10_000) / 48_000
    times_s[gap_at:] += 1 / 48_000

    assert _rate(times_s) is None


@pytest.mark.parametrize(
    "times_s", [np.zeros(1), np.zeros(5), np.array([0, 1, np.nan, 3]), np.array([3.0, 2.0, 1.0])]
)
def test_that_what_is_no_time_axis_gives_none(times_s: np.ndarray) -> None:
    assert _rate(times_s) is None


@pytest.mark.parametrize(
    ("unit", "pascal"),
    [("Pa", 1.0), (" Pa ", 1.0), ("N/m²", 1.0), ("mPa", 1e-3), ("MPa", 1e6), ("hPa", 100.0)],
)
def test_that_units_of_pressure_are_known_by_their_prefix(unit: str, pascal: float) -> None:
    assert pa_per_unit(unit) == pascal


@pytest.mark.parametrize("unit", [None, "", "V", "m/s²", "Pa*s", "FS"])
def test_that_other_units_give_no_pascal(unit: str | None) -> None:
    assert pa_per_unit(unit) is None
