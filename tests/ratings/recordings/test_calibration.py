"""A calibrator's tone gives pascal per full scale, or a sentence that says why not."""

import math
from collections.abc import Callable
from pathlib import Path

import h5py
import numpy as np
import pytest

from ratings.errors import MeasurementError
from ratings.recordings.calibration import (
    ToneCalibration,
    calibration_from_tone,
    compare_calibrations,
)

_RATE_HZ = 51_200
_PEAK = 0.1
# 94 dB re 20 uPa is 1.00238 Pa; 1 Pa is 93.979 dB (20 log10(1/20e-6), by hand).
_PA_PER_FULL_SCALE = 1.002374467 / (_PEAK / math.sqrt(2))


def _recorded(
    tone_hz: float = 1000.3,
    peak: float = _PEAK,
    duration_s: float = 5.0,
    noise: float = 1e-4,
    swell: Callable[[np.ndarray], np.ndarray] = np.ones_like,
) -> np.ndarray:
    """A tone with the operator's handling and the room's noise at both ends."""
    generator = np.random.default_rng(11)
    time_s = np.arange(round(duration_s * _RATE_HZ)) / _RATE_HZ
    tone = peak * swell(time_s) * np.sin(2 * np.pi * tone_hz * time_s)
    room = 0.01 * generator.standard_normal(_RATE_HZ)
    knock = 0.2 * generator.uniform(-1, 1, _RATE_HZ // 10)
    whole = np.concatenate((room, knock, tone, knock, room))
    return whole + noise * generator.standard_normal(len(whole))


@pytest.fixture
def calibrate(make_recording) -> Callable[..., ToneCalibration]:
    def run(samples: np.ndarray, subtype: str = "PCM_24", **given: float) -> ToneCalibration:
        path = make_recording(
            "tone.wav", np.clip(samples, -1, 1)[:, np.newaxis], rate_hz=_RATE_HZ, subtype=subtype
        )
        return calibration_from_tone(path, 0, **given)

    return run


def test_that_a_calibrator_between_noises_gives_the_factor(calibrate) -> None:
    found = calibrate(_recorded())

    assert found.pa_per_full_scale == pytest.approx(_PA_PER_FULL_SCALE, rel=1e-4)
    assert found.frequency_hz == pytest.approx(1000.3, abs=0.01)
    assert found.level_spread_db < 0.02
    # Peak 0.1 over noise of 1e-4 rms: 20 log10(0.0707 / 1e-4) = 57 dB.
    assert found.tone_to_rest_db == pytest.approx(57.0, abs=0.5)
    assert 1.1 <= found.start_s < found.stop_s <= 6.1
    assert found.stop_s - found.start_s > 4.5
    assert found.remarks == ()


def test_that_one_pascal_is_93_98_db(calibrate) -> None:
    found = calibrate(_recorded(), tone_db=20 * math.log10(1 / 20e-6))

    assert found.pa_per_full_scale * _PEAK / math.sqrt(2) == pytest.approx(1.0, rel=1e-4)
    assert 20 * math.log10(1 / 20e-6) == pytest.approx(93.98, abs=0.005)


def test_that_another_calibrator_is_allowed(calibrate) -> None:
    loud = calibrate(_recorded(), tone_db=114.0)
    pistonphone = calibrate(_recorded(tone_hz=250.0), tone_hz=250.0)

    assert loud.pa_per_full_scale == pytest.approx(10 * _PA_PER_FULL_SCALE, rel=1e-4)
    assert pistonphone.pa_per_full_scale == pytest.approx(_PA_PER_FULL_SCALE, rel=1e-4)


def test_that_noise_beside_the_tone_does_not_count_as_level(calibrate) -> None:
    found = calibrate(_recorded(noise=0.004))

    # The noise adds 0.014 dB to the power of all; the tone is right to a tenth of that.
    assert found.pa_per_full_scale == pytest.approx(_PA_PER_FULL_SCALE, rel=3e-4)
    assert "25 dB below the tone" in found.remarks[0]


def test_that_an_offset_of_the_recorder_does_not_count(calibrate) -> None:
    assert calibrate(_recorded() + 0.2).pa_per_full_scale == pytest.approx(
        _PA_PER_FULL_SCALE, rel=1e-4
    )


@pytest.mark.parametrize(
    ("made", "expected"),
    [
        ({"tone_hz": 1100.0}, "at 1100 Hz and not at 1000 Hz"),
        ({"tone_hz": 979.0}, "at 979 Hz and not at 1000 Hz"),
        ({"duration_s": 1.5}, "no tone of 2 s"),
        ({"noise": 0.01}, "17 dB above noise"),
        ({"peak": 1.3}, "clipped"),
        ({"swell": lambda t: 1 + 0.05 * np.sin(2 * t)}, "not steady"),
        ({"peak": 0.0}, "no tone"),
    ],
)
def test_that_a_tone_that_proves_nothing_is_refused(calibrate, made: dict, expected: str) -> None:
    with pytest.raises(MeasurementError, match=expected) as refusal:
        calibrate(_recorded(**made))
    assert "channel 1 of 'tone.wav'" in refusal.value.what_happened
    assert refusal.value.what_to_do


def test_that_frequencies_within_two_per_cent_pass(calibrate) -> None:
    assert calibrate(_recorded(tone_hz=1019.5)).frequency_hz == pytest.approx(1019.5, abs=0.01)


def test_that_peaks_flattened_before_the_converter_are_refused(calibrate) -> None:
    with pytest.raises(MeasurementError, match="clipped"):
        calibrate(np.clip(_recorded(noise=0), -0.097, 0.097))


def test_that_a_quiet_tone_of_few_codes_is_not_taken_for_clipped(calibrate) -> None:
    found = calibrate(_recorded(peak=60 / 2**15, noise=0.5 / 2**15), subtype="PCM_16")

    assert found.pa_per_full_scale == pytest.approx(1.002374467 * 2**15.5 / 60, rel=2e-3)


@pytest.mark.parametrize("samples", [np.zeros(5 * _RATE_HZ), np.zeros(100)])
def test_that_silence_is_told(calibrate, samples: np.ndarray) -> None:
    with pytest.raises(MeasurementError, match="no tone of 2 s"):
        calibrate(samples)


def test_that_a_second_tone_of_another_level_is_told(calibrate) -> None:
    samples = np.concatenate((_recorded(), _recorded(peak=0.05, duration_s=3.0)))

    assert calibrate(samples).remarks == (
        "the file also holds a tone -6.0 dB from the one that was used",
    )


def test_that_a_missing_channel_and_an_odd_calibrator_are_told(make_recording) -> None:
    path = make_recording()
    with pytest.raises(MeasurementError, match="no channel 3; it has 2"):
        calibration_from_tone(path, 2)
    for odd in ({"tone_db": math.nan}, {"tone_db": 20.0}, {"tone_hz": 31.5}):
        with pytest.raises(MeasurementError, match="not a standard calibrator"):
            calibration_from_tone(path, 0, **odd)


def test_that_a_file_in_pascal_that_the_tone_contradicts_is_told(tmp_path: Path) -> None:
    path = tmp_path / "tone.h5"
    with h5py.File(path, "w") as file:
        file["pressure"] = _recorded()
        file["pressure"].attrs["unit"] = "Pa"
        file.attrs["fs"] = _RATE_HZ

    (remark,) = calibration_from_tone(path, 0).remarks

    # 94 dB recorded as a peak of 0.1 Pa: 20 log10(1.00238 * sqrt(2) / 0.1) = 23.0 dB.
    assert "in Pa" in remark
    assert "+23.0 dB off" in remark


def _calibration(pa_per_full_scale: float) -> ToneCalibration:
    return ToneCalibration(pa_per_full_scale, 1000.0, 0.01, 50.0, 1.0, 11.0, ())


def test_that_before_and_after_are_averaged_within_half_a_decibel() -> None:
    pair = compare_calibrations(_calibration(10.0), _calibration(10.0 * 10 ** (-0.4 / 20)))

    assert pair.difference_db == pytest.approx(0.4)
    assert pair.pa_per_full_scale == pytest.approx(10.0 * 10 ** (-0.2 / 20))
    assert compare_calibrations(
        _calibration(10.0), _calibration(10.0 * 10 ** (0.5 / 20))
    ).difference_db == pytest.approx(-0.5)


@pytest.mark.parametrize("apart_db", [0.51, -0.51, 6.0])
def test_that_runs_between_calibrations_far_apart_are_void(apart_db: float) -> None:
    with pytest.raises(MeasurementError, match=r"are void"):
        compare_calibrations(_calibration(10.0), _calibration(10.0 * 10 ** (apart_db / 20)))
