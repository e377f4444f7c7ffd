"""What makes a recording level-true, and the words for it."""

import numpy as np
import pytest
import soundfile
from known_recordings import FULL_SCALE_PA, tone_pa

from ratings.errors import MeasurementError
from ratings.measuring.calibrating import calibration_of


def write_tone(path, *levels_db: float):
    channels = [tone_pa(1000, level, 6, 48_000) for level in levels_db]
    soundfile.write(path, np.stack(channels, axis=1) / FULL_SCALE_PA, 48_000, subtype="PCM_24")
    return path


def test_that_a_given_factor_counts_for_every_channel() -> None:
    found = calibration_of(3, (None, 1.0, None), factor=2.5)
    assert found.pa_per_full_scale == (2.5, 2.5, 2.5)


def test_that_the_files_own_units_count_where_nothing_is_given() -> None:
    found = calibration_of(2, (1.0, None))
    assert found.pa_per_full_scale == (1.0, None)
    assert "1 of 2 channels" in found.words


def test_that_a_tone_on_one_channel_calibrates_all(tmp_path) -> None:
    tone = write_tone(tmp_path / "tone.wav", 94)
    found = calibration_of(3, (None,) * 3, tone=tone)
    assert found.pa_per_full_scale == pytest.approx((FULL_SCALE_PA,) * 3, rel=1e-4)
    assert "before only" in found.words


def test_that_a_tone_on_every_channel_calibrates_each(tmp_path) -> None:
    # The second microphone is 6 dB less sensitive: the same tone gives half the samples.
    tone = write_tone(tmp_path / "tone.wav", 94, 94 - 20 * np.log10(2))
    found = calibration_of(2, (None, None), tone=tone)
    assert found.pa_per_full_scale == pytest.approx((FULL_SCALE_PA, 2 * FULL_SCALE_PA), rel=1e-4)


def test_that_tones_before_and_after_are_averaged_and_said(tmp_path) -> None:
    before = write_tone(tmp_path / "before.wav", 94)
    after = write_tone(tmp_path / "after.wav", 94.2)
    found = calibration_of(1, (None,), tone=before, tone_after=after)
    expected = FULL_SCALE_PA * 10 ** (-0.1 / 20)
    assert found.pa_per_full_scale == pytest.approx((expected,), rel=1e-3)
    assert "0.20 dB apart" in found.words


def test_that_a_tone_on_another_number_of_channels_is_refused(tmp_path) -> None:
    tone = write_tone(tmp_path / "tone.wav", 94, 94)
    with pytest.raises(MeasurementError, match="2 channels and the run on 3"):
        calibration_of(3, (None,) * 3, tone=tone)
