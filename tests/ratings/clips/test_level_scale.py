"""One full scale for all clips of a comparison."""

import pytest

from ratings.clips.level_scale import level_scale
from ratings.errors import DesignError, RecordingError


def test_that_each_gain_brings_its_recording_to_the_largest_scale() -> None:
    scale = level_scale([2.0, 20.0, 20.0])

    assert scale.pa_per_full_scale == 20.0
    assert [scale.gain_of(2.0), scale.gain_of(20.0)] == pytest.approx([-20.0, 0.0])
    # 20 Pa over 20 uPa are a factor of a million.
    assert scale.full_scale_db == pytest.approx(120.0)


def test_that_a_common_gain_changes_the_scale_and_no_difference() -> None:
    scale = level_scale([20.0, 20.0], gain_db=6.0)

    assert scale.gain_of(20.0) == 6.0
    # 6 dB more for the samples is 6 dB less pressure at full scale.
    assert scale.full_scale_db == pytest.approx(114.0)


def test_that_an_unknown_scale_stays_unknown() -> None:
    scale = level_scale([None, None], gain_db=-3.0)

    assert (scale.pa_per_full_scale, scale.gain_of(None), scale.full_scale_db) == (None, -3, 0)


@pytest.mark.parametrize(
    ("scales", "gain_db"), [([1.0, None], 0.0), ([0.0], 0.0), ([float("nan")], 0.0), ([], 1e999)]
)
def test_that_senseless_calibrations_are_refused(scales: list[float], gain_db: float) -> None:
    with pytest.raises((RecordingError, DesignError)):
        level_scale(scales, gain_db=gain_db)


def test_that_samples_above_full_scale_raise_it_for_all_before_the_common_gain() -> None:
    # 3 Pa are 9.54 dB re 1 Pa; with 1 dB of room the next whole decibel is 11.
    scale = level_scale([1.0, 2.0], peaks_full_scale=[3.0, 0.5], gain_db=-6.0)

    assert scale.common_pa == pytest.approx(10 ** (11 / 20))
    assert scale.pa_per_full_scale == pytest.approx(10 ** (17 / 20))
    assert scale.gain_of(1.0) == pytest.approx(-17.0)
    assert level_scale([1.0, 2.0], peaks_full_scale=[1.9, 1.0]).common_pa == 2.0
