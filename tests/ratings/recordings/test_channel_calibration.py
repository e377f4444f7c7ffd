"""What makes a recording calibrated, and the words for it."""

import numpy as np
import pytest
import soundfile
from known_recordings import FULL_SCALE_PA, tone_pa

from ratings.errors import MeasurementError
from ratings.recordings.channel_calibration import calibration_of


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


def test_that_only_the_measured_channels_need_the_tone(tmp_path) -> None:
    # The calibrator sits on one microphone at a time: the others record the silent hall.
    tone = tmp_path / "tone.wav"
    hall = np.random.default_rng(5).normal(0, 1e-3, 6 * 48_000)
    channels = np.stack([hall, tone_pa(1000, 94, 6, 48_000), hall], axis=1)
    soundfile.write(tone, channels / FULL_SCALE_PA, 48_000, subtype="PCM_24")
    found = calibration_of(3, (None,) * 3, tone=tone, numbers=[2])
    assert found.pa_per_full_scale == (None, pytest.approx(FULL_SCALE_PA, rel=1e-4), None)
    with pytest.raises(MeasurementError, match="channel 1"):
        calibration_of(3, (None,) * 3, tone=tone)


def test_that_a_pistonphone_is_taken_at_its_own_frequency(tmp_path) -> None:
    path = tmp_path / "piston.wav"
    soundfile.write(path, tone_pa(250, 114, 6, 48_000) / FULL_SCALE_PA, 48_000, subtype="PCM_24")
    found = calibration_of(1, (None,), tone=path, tone_db=114.0, tone_hz=250.0)
    assert found.pa_per_full_scale == pytest.approx((FULL_SCALE_PA,), rel=1e-4)


def test_that_what_is_odd_about_a_tone_is_told_with_its_channel(tmp_path) -> None:
    noise = np.random.default_rng(3).normal(0, 1.0 * 10 ** (-25 / 20), 6 * 48_000)
    channels = [tone_pa(1000, 94, 6, 48_000), tone_pa(1000, 94, 6, 48_000) + noise]
    path = tmp_path / "tone.wav"
    soundfile.write(path, np.stack(channels, axis=1) / FULL_SCALE_PA, 48_000, subtype="PCM_24")
    (remark,) = calibration_of(2, (None, None), tone=path).remarks
    assert remark.channel == 2
    assert "on channel 2: noise or distortion lies only 25 dB below" in remark.sentence


def test_that_a_tone_that_only_leaked_into_a_channel_is_doubted(tmp_path) -> None:
    found = calibration_of(2, (None, None), tone=write_tone(tmp_path / "tone.wav", 94, 50))
    (remark,) = found.remarks
    assert remark.channel == 2
    assert "44 dB softer" in remark.sentence


def test_that_a_tone_in_other_units_than_the_run_is_refused(tmp_path) -> None:
    h5py = pytest.importorskip("h5py")
    tone, run = tmp_path / "tone.h5", write_tone(tmp_path / "run.wav", 94)
    with h5py.File(tone, "w") as file:
        file["mic"] = tone_pa(1000, 94, 6, 48_000)
        file["mic"].attrs["unit"] = "V"
        file.attrs["fs"] = 48_000
    with pytest.raises(MeasurementError, match=r"are in V and .* are fractions of full scale"):
        calibration_of(1, (None,), tone=tone, run=run)
    assert calibration_of(1, (None,), tone=run, run=run).pa_per_full_scale[0] is not None
