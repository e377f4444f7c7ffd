"""One full scale for all clips of a comparison."""

import pytest

from ratings.clips.level_scale import level_scale
from ratings.errors import RecordingError


def test_that_each_gain_brings_its_recording_to_the_largest_scale() -> None:
    scale = level_scale([2.0, 20.0, 20.0], gain_db=0.0, recordings=3)

    assert scale.pa_per_full_scale == 20.0
    assert scale.gains_db == pytest.approx((-20.0, 0.0, 0.0))
    # 20 Pa over 20 uPa are a factor of a million.
    assert scale.full_scale_db == pytest.approx(120.0)


def test_that_a_common_gain_changes_the_scale_and_no_difference() -> None:
    scale = level_scale([20.0], gain_db=6.0, recordings=2)

    assert scale.gains_db == (6.0, 6.0)
    # 6 dB more for the samples is 6 dB less pressure at full scale.
    assert scale.full_scale_db == pytest.approx(114.0)


def test_that_an_unknown_scale_stays_unknown() -> None:
    scale = level_scale([], gain_db=-3.0, recordings=2)

    assert (scale.pa_per_full_scale, scale.gains_db, scale.full_scale_db) == (None, (-3, -3), 0)


@pytest.mark.parametrize(
    ("scales", "gain_db"), [([1.0, 2.0], 0.0), ([0.0], 0.0), ([float("nan")], 0.0), ([], 1e999)]
)
def test_that_senseless_calibrations_are_refused(scales: list[float], gain_db: float) -> None:
    with pytest.raises(RecordingError):
        level_scale(scales, gain_db, recordings=3)
