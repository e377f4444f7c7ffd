"""A clip holds exactly the stretch that was asked for, or there is no clip."""

import re
import wave
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ratings.clips.cutting import ClipCut, cut_clip, cut_sound
from ratings.errors import FullScaleError, RecordingError

_STEREO = ClipCut(left_channel=0, right_channel=1, start_s=0.5, stop_s=2.5)


def _codes(path: Path) -> np.ndarray:
    """Read 24-bit samples with Python's own wave module, an independent route."""
    with wave.open(str(path)) as clip:
        assert (clip.getsampwidth(), clip.getnchannels()) == (3, 2)
        triples = np.frombuffer(clip.readframes(clip.getnframes()), np.uint8).reshape(-1, 2, 3)
    padded = np.concatenate([np.zeros_like(triples[..., :1]), triples], axis=-1)
    return np.ascontiguousarray(padded).view("<i4")[..., 0] >> 8


@pytest.mark.parametrize(
    ("name", "subtype", "bits"),
    [
        ("run.wav", "PCM_U8", 8),
        ("run.wav", "PCM_16", 16),
        ("run.wav", "PCM_24", 24),
        ("run.flac", "PCM_16", 16),
        ("run.flac", "PCM_24", 24),
    ],
)
def test_that_integer_recordings_come_out_bit_for_bit(
    make_recording, tmp_path: Path, name: str, subtype: str, bits: int
) -> None:
    generator = np.random.default_rng(1)
    # Every code, the two extremes included.
    codes = generator.integers(-(2 ** (bits - 1)), 2 ** (bits - 1), (144_000, 2))
    codes[24_000] = -(2 ** (bits - 1)), 2 ** (bits - 1) - 1
    source = make_recording(name, (codes << (32 - bits)).astype(np.int32), subtype=subtype)

    cut_clip(source, tmp_path / "clip.wav", _STEREO)

    np.testing.assert_array_equal(
        _codes(tmp_path / "clip.wav"), codes[24_000:120_000] << (24 - bits)
    )


@pytest.mark.slow
@settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    start=st.integers(0, 3 * 44_100),
    length=st.integers(44_100, 4 * 44_100),
    left=st.integers(0, 3),
    right=st.integers(0, 3),
)
def test_that_a_clip_equals_that_slice_of_its_recording(
    make_recording, tmp_path: Path, start: int, length: int, left: int, right: int
) -> None:
    source = tmp_path / "four.wav"
    if not source.exists():
        make_recording("four.wav", duration_s=7, channels=4, rate_hz=44_100, subtype="PCM_16")
    cut = ClipCut(left, right, start / 44_100, (start + length) / 44_100)

    facts = cut_clip(source, tmp_path / "clip.wav", cut, sample_rate_hz=44_100)

    whole = soundfile.read(source, dtype="int16")[0].astype(np.int32) << 8
    expected = whole[start : start + length, [left, right]]
    np.testing.assert_array_equal(_codes(tmp_path / "clip.wav"), expected)
    assert facts.frames == length
    assert facts.peak_full_scale == np.abs(expected).max() / 2**23


def test_that_a_mono_recording_is_heard_in_both_ears(make_recording, tmp_path: Path) -> None:
    source = make_recording(channels=1)

    facts = cut_clip(source, tmp_path / "clip.wav", _STEREO)

    both = _codes(tmp_path / "clip.wav")
    np.testing.assert_array_equal(both[:, 0], both[:, 1])
    assert facts.remarks == ("channel 1 in both ears",)


@pytest.mark.slow
@pytest.mark.parametrize("rate_hz", [40_000, 44_100, 51_200, 96_000, 8_000, 44_101])
@pytest.mark.parametrize("start_s", [0.0, 0.4003, 2.7])
def test_that_a_resampled_tone_is_the_tone_itself(
    make_recording, tmp_path: Path, rate_hz: int, start_s: float
) -> None:
    # Closed form: the same sine written down at the clip's rate.
    frequency_hz = 997.0
    time_s = np.arange(6 * rate_hz) / rate_hz
    tone = 0.5 * np.sin(2 * np.pi * frequency_hz * time_s + 0.3)
    source = make_recording(
        samples=np.stack([tone, 0.5 * tone], axis=1), rate_hz=rate_hz, subtype="PCM_24"
    )
    cut = ClipCut(0, 1, start_s, start_s + 2)

    facts = cut_clip(source, tmp_path / "clip.wav", cut)

    clip_time_s = np.round(start_s * 48_000) / 48_000 + np.arange(96_000) / 48_000
    expected = 0.5 * np.sin(2 * np.pi * frequency_hz * clip_time_s + 0.3)
    written = _codes(tmp_path / "clip.wav") / 2**23
    # The first few milliseconds of a recording are heard against nothing before them.
    settled = slice(2400 if start_s == 0 else 0, None)
    np.testing.assert_allclose(written[settled, 0], expected[settled], atol=1e-6)
    np.testing.assert_allclose(written[settled, 1], 0.5 * expected[settled], atol=1e-6)
    assert facts.frames == 96_000
    assert f"resampled from {rate_hz} to 48000 Hz" in facts.remarks


@pytest.mark.parametrize("rate_hz", [44_100, 51_200])
def test_that_resampling_a_window_equals_resampling_the_whole(
    make_recording, tmp_path: Path, rate_hz: int
) -> None:
    import soxr

    source = make_recording(duration_s=8, rate_hz=rate_hz, subtype="PCM_24")
    whole = soxr.resample(soundfile.read(source)[0], rate_hz, 48_000, quality="VHQ")

    cut_clip(source, tmp_path / "clip.wav", ClipCut(0, 1, 3.3333, 5.3333))

    start = round(3.3333 * 48_000)
    written = _codes(tmp_path / "clip.wav") / 2**23
    np.testing.assert_allclose(written, whole[start : start + 96_000], atol=2**-23)


@pytest.mark.slow
@settings(
    max_examples=12,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    starts_s=st.lists(st.floats(0, 2.9), min_size=2, max_size=2),
    rates_hz=st.lists(st.sampled_from([44_100, 48_000, 51_200]), min_size=2, max_size=2),
    length_s=st.floats(1.0, 3.0),
)
def test_that_equal_lengths_give_equal_frames_and_file_sizes(
    make_recording, tmp_path: Path, starts_s, rates_hz, length_s: float
) -> None:
    sizes, counts = set(), set()
    for number, (start_s, rate_hz) in enumerate(zip(starts_s, rates_hz, strict=True)):
        source = tmp_path / f"{rate_hz}.wav"
        if not source.exists():
            make_recording(source.name, duration_s=6, rate_hz=rate_hz)
        clip = tmp_path / f"{number}.wav"
        counts.add(cut_clip(source, clip, ClipCut(0, 1, start_s, start_s + length_s)).frames)
        sizes.add(clip.stat().st_size)

    assert len(sizes) == len(counts) == 1
    assert counts.pop() == pytest.approx(length_s * 48_000, abs=0.51)


@pytest.mark.slow
@pytest.mark.parametrize("frames", [100_001, 144_000, 99_999])
@pytest.mark.parametrize("rate_hz", [44_100, 48_000, 51_200])
def test_that_a_clip_may_reach_to_the_very_end(
    make_recording, tmp_path: Path, frames: int, rate_hz: int
) -> None:
    noise = np.random.default_rng(1).uniform(-0.4, 0.4, (frames, 2))
    source = make_recording(samples=noise, rate_hz=rate_hz)
    duration_s = frames / rate_hz

    for start_s in (0.0, 0.1234567, 0.5 / rate_hz, 0.5 / 48_000):
        facts = cut_clip(source, tmp_path / "clip.wav", ClipCut(0, 1, start_s, duration_s))
        assert len(_codes(tmp_path / "clip.wav")) == facts.frames


def test_that_gain_changes_the_level_by_its_decibels(make_recording, tmp_path: Path) -> None:
    source = make_recording(subtype="PCM_24")
    plain = cut_clip(source, tmp_path / "plain.wav", _STEREO)

    cut = ClipCut(0, 1, 0.5, 2.5, gain_db=-6.0)
    lowered = cut_clip(source, tmp_path / "lowered.wav", cut)

    ratio = _codes(tmp_path / "lowered.wav") / _codes(tmp_path / "plain.wav").clip(1)
    loud = _codes(tmp_path / "plain.wav") > 100_000
    # -6 dB is a factor of 0.501187.
    np.testing.assert_allclose(ratio[loud], 0.501187, atol=1e-5)
    assert lowered.leq_a_db_re_full_scale == pytest.approx(plain.leq_a_db_re_full_scale - 6)
    assert lowered.remarks == ("gain -6 dB",)


def test_that_the_louder_ear_gives_the_level(make_recording, tmp_path: Path) -> None:
    time_s = np.arange(144_000) / 48_000
    tone = np.sin(2 * np.pi * 1000 * time_s)
    source = make_recording(samples=np.stack([0.05 * tone, 0.5 * tone], axis=1), subtype="PCM_24")

    facts = cut_clip(source, tmp_path / "clip.wav", _STEREO)

    # 20 log10(0.5 / sqrt 2) = -9.03 dB.
    assert facts.leq_a_db_re_full_scale == pytest.approx(-9.031, abs=0.002)
    assert facts.fast_max_a_db_re_full_scale == pytest.approx(-9.031, abs=0.005)


def test_that_what_exceeds_full_scale_is_refused_with_the_remedy(
    make_recording, tmp_path: Path
) -> None:
    source = make_recording()
    cut = ClipCut(0, 1, 0.5, 2.5, gain_db=12.34)

    with pytest.raises(FullScaleError, match="exceed full scale") as refusal:
        cut_clip(source, tmp_path / "clip.wav", cut)

    assert not list(tmp_path.glob("*clip*"))
    remedy = re.search(r"all clips of the study by ([\d.]+) dB", refusal.value.what_to_do)
    assert remedy is not None
    lower_db = float(remedy.group(1))
    # Noise up to 0.4 raised by 12.34 dB peaks 4.38 dB above full scale.
    assert lower_db == pytest.approx(4.4)
    assert refusal.value.over_db == pytest.approx(lower_db)
    cut_clip(source, tmp_path / "clip.wav", ClipCut(0, 1, 0.5, 2.5, gain_db=12.34 - lower_db))


def test_that_floats_beyond_full_scale_are_refused_never_limited(
    make_recording, tmp_path: Path
) -> None:
    samples = np.random.default_rng(1).uniform(-0.5, 0.5, (144_000, 2))
    samples[60_000, 1] = 1.0
    source = make_recording(samples=samples, subtype="FLOAT")

    with pytest.raises(RecordingError, match="exceed full scale"):
        cut_clip(source, tmp_path / "clip.wav", _STEREO)


def test_that_clipping_in_the_recording_is_remarked_even_after_resampling(
    make_recording, tmp_path: Path
) -> None:
    samples = np.random.default_rng(1).uniform(-0.1, 0.1, (132_300, 2))
    samples[60_000:60_004, 1] = 1.0
    samples[10, 0] = 1.0  # before the clip
    source = make_recording(samples=samples, rate_hz=44_100)

    facts = cut_clip(source, tmp_path / "clip.wav", ClipCut(0, 1, 0.5, 2.5, gain_db=-6))

    assert "right ear: 4 samples at full scale in the recording" in facts.remarks
    assert not any(remark.startswith("left") for remark in facts.remarks)


def test_that_rounding_and_lossy_sources_are_remarked(make_recording, tmp_path: Path) -> None:
    fine = make_recording("fine.wav", subtype="FLOAT")
    lossy = make_recording("lossy.ogg", duration_s=3)

    assert cut_clip(fine, tmp_path / "a.wav", _STEREO).remarks == ("rounded to 24 bits",)
    assert (
        "the recording was stored with loss (VORBIS)"
        in cut_clip(lossy, tmp_path / "b.wav", _STEREO).remarks
    )
    assert cut_clip(make_recording("plain.wav"), tmp_path / "c.wav", _STEREO).remarks == ()


@pytest.mark.parametrize(
    ("cut", "expected"),
    [
        (ClipCut(0, 1, 2.0, 4.0), "lasts 3.000 s"),
        (ClipCut(0, 1, -0.1, 2.0), "does not lie within"),
        (ClipCut(0, 1, 1.0, 1.9), "shorter than"),
        (ClipCut(0, 1, 2.0, 1.0), "shorter than"),
        (ClipCut(0, 2, 0.0, 2.0), "has no channel 3"),
        (ClipCut(-1, 1, 0.0, 2.0), "has no channel 0"),
        (ClipCut(0, 1, float("nan"), 2.0), "must be numbers"),
        (ClipCut(0, 1, 0.0, float("inf")), "must be numbers"),
        (ClipCut(0, 1, 0.0, 2.0, gain_db=float("nan")), "must be numbers"),
        (ClipCut(0, 1, 0.0, 2.0, gain_db=-160.0), "silent"),
    ],
)
def test_that_a_senseless_cut_is_refused(
    make_recording, tmp_path: Path, cut: ClipCut, expected: str
) -> None:
    source = make_recording()

    with pytest.raises(RecordingError, match=expected):
        cut_clip(source, tmp_path / "clip.wav", cut)
    assert [path.name for path in tmp_path.iterdir()] == ["run.wav"]


def test_that_a_recording_under_one_second_gives_no_clip(make_recording, tmp_path: Path) -> None:
    source = make_recording(samples=np.array([[0.1, 0.2]]))

    with pytest.raises(RecordingError, match=r"lasts 0\.000 s"):
        cut_clip(source, tmp_path / "clip.wav", ClipCut(0, 1, 0.0, 1.0))


@pytest.mark.parametrize("rate_hz", [44_100, 48_000])
@pytest.mark.parametrize("level", [0.0, 0.2])
def test_that_silence_in_one_ear_is_refused(
    make_recording, tmp_path: Path, rate_hz: int, level: float
) -> None:
    samples = np.random.default_rng(1).uniform(-0.1, 0.1, (3 * rate_hz, 2))
    samples[rate_hz // 2 :, 1] = level
    source = make_recording(samples=samples, rate_hz=rate_hz)

    with pytest.raises(RecordingError, match=r"Channel 2 .* right ear, is silent"):
        cut_clip(source, tmp_path / "clip.wav", _STEREO)
    cut_clip(source, tmp_path / "clip.wav", ClipCut(0, 0, 0.5, 2.5))


def test_that_only_the_needed_part_of_a_recording_is_read(make_recording, tmp_path: Path) -> None:
    # Damage beyond the window and its margin does not matter to the clip.
    samples = np.random.default_rng(1).uniform(-0.1, 0.1, (8 * 44_100, 2))
    samples[-1] = np.nan
    source = make_recording(samples=samples, rate_hz=44_100, subtype="FLOAT")

    assert cut_clip(source, tmp_path / "clip.wav", _STEREO).frames == 96_000
    with pytest.raises(RecordingError, match="not numbers"):
        cut_clip(source, tmp_path / "late.wav", ClipCut(0, 1, 5.5, 7.5))


def test_that_fades_rise_from_silence_and_leave_the_middle_alone(
    make_recording, tmp_path: Path
) -> None:
    source = make_recording(samples=np.full((144_000, 2), 0.25) * [1, -1] + 1e-3)
    # A constant would be refused as silence; one frame in the middle differs.
    samples = soundfile.read(source)[0]
    samples[60_000] = 0.1
    source = make_recording(samples=samples, subtype="PCM_24")

    faded = cut_sound(source, ClipCut(0, 1, 0.5, 2.5, fade_s=0.02))
    plain = cut_sound(source, _STEREO)

    np.testing.assert_array_equal(faded.codes[960:-960], plain.codes[960:-960])
    ratio = faded.codes[:960] / plain.codes[:960]
    # Raised cosine: 0 at the end, 0.5 in the middle, and half of that power sum to one.
    assert not faded.codes[[0, -1]].any()
    np.testing.assert_allclose(ratio[480], 0.5, atol=1e-6)
    np.testing.assert_allclose(ratio[240], 0.5 - np.sqrt(0.125), atol=1e-6)
    np.testing.assert_array_equal(faded.codes[:960], faded.codes[:-961:-1])
    assert "fades of 20 ms at both ends" in faded.remarks
    assert plain.remarks == ()


@pytest.mark.parametrize("fade_s", [-0.01, 0.6, float("nan")])
def test_that_an_impossible_fade_is_refused(make_recording, fade_s: float) -> None:
    with pytest.raises(RecordingError, match="fade"):
        cut_sound(make_recording(), ClipCut(0, 1, 0.5, 2.5, fade_s=fade_s))


def test_that_lost_signal_in_a_clip_is_told_by_ear_and_second(make_recording, tmp_path: Path):
    samples = 0.1 * np.random.default_rng(1).standard_normal((144_000, 2))
    samples[57_600:58_080, 1] = 0.0
    source = make_recording("gap.wav", samples, subtype="PCM_24")
    facts = cut_clip(source, tmp_path / "clip.wav", _STEREO)
    assert facts.remarks[-1] == "right ear: the signal is lost at 1.20 s"
    beside = ClipCut(left_channel=0, right_channel=1, start_s=1.3, stop_s=2.5)
    facts = cut_clip(source, tmp_path / "clip.wav", beside)
    assert not any("lost" in remark for remark in facts.remarks)
