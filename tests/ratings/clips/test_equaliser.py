"""The headphones' equaliser changes the sound as its taps say, and nothing else."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from ratings.clips.cutting import ClipCut, cut_clip, cut_sound
from ratings.clips.equaliser import read_equaliser
from ratings.errors import RecordingError
from ratings.recordings.read import content_hash

_CUT = ClipCut(left_channel=0, right_channel=1, start_s=0.5, stop_s=2.5)


def _sound_file(path: Path, taps: np.ndarray, rate_hz: int = 48_000) -> Path:
    soundfile.write(path, taps, rate_hz, subtype="DOUBLE")
    return path


def _text(path: Path, text: str) -> Path:
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.slow
@pytest.mark.parametrize("taps", [[1.0], [0, 0, 0, 1.0, 0, 0, 0], [0, 1.0, 0, 0]])
@pytest.mark.parametrize("subtype", ["PCM_24", "FLOAT"])
def test_that_an_identity_leaves_the_clip_bit_for_bit(
    make_recording, tmp_path: Path, taps: list[float], subtype: str
) -> None:
    source = make_recording(subtype=subtype)
    equaliser = read_equaliser(_sound_file(tmp_path / "fir.wav", np.array(taps)))

    plain = cut_clip(source, tmp_path / "plain.wav", _CUT)
    equalised = cut_clip(source, tmp_path / "equalised.wav", _CUT, equaliser=equaliser)

    assert equalised.content_hash == plain.content_hash
    assert equalised.remarks[-1] == f"equaliser {equaliser.equaliser_id[:12]}, {len(taps)} taps"


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("a.csv", "0.5,0.25\n-0.1,0.2\n0.5,0.25\n"),
        ("a.txt", "# made for the test\n0.5 0.25\n-0.1\t0.2\n\n 0.5   0.25 \n"),
        ("a.csv", "\ufeff0,5;0,25\r\n-0,1;0,2\r\n0,5;0,25\r\n"),
    ],
)
def test_that_usual_ways_of_writing_taps_are_read(tmp_path: Path, name: str, content: str) -> None:
    path = _text(tmp_path / name, content)

    equaliser = read_equaliser(path)

    np.testing.assert_array_equal(equaliser.taps, [[0.5, 0.25], [-0.1, 0.2], [0.5, 0.25]])
    assert equaliser.sample_rate_hz is None
    assert equaliser.equaliser_id == content_hash(path)
    assert "the equaliser's taps are taken as at 48000 Hz" in equaliser.at_rate(48_000).remarks


def test_that_one_column_goes_to_both_ears_and_the_text_may_say_the_rate(tmp_path: Path) -> None:
    equaliser = read_equaliser(_text(tmp_path / "a.txt", "# sample_rate_hz = 44100\n1\n0.5\n"))

    np.testing.assert_array_equal(equaliser.taps, [[1, 1], [0.5, 0.5]])
    assert equaliser.sample_rate_hz == 44_100


@pytest.mark.parametrize("start_s", [0.0, 0.01, 1.0])
@pytest.mark.parametrize("is_symmetric", [True, False])
def test_that_a_clip_is_a_stretch_of_the_filtered_recording(
    make_recording, tmp_path: Path, start_s: float, is_symmetric: bool
) -> None:
    source = make_recording(subtype="PCM_24")
    taps = np.random.default_rng(3).normal(size=(801, 2)) * 0.01
    if is_symmetric:
        taps = (taps + taps[::-1]) / 2
    equaliser = read_equaliser(_sound_file(tmp_path / "fir.wav", taps))

    sound = cut_sound(source, ClipCut(0, 1, start_s, start_s + 2), equaliser=equaliser)

    # Direct convolution of the whole recording; linear phase loses its delay of 400 frames.
    whole = soundfile.read(source)[0]
    delay, first = 400 if is_symmetric else 0, round(start_s * 48_000)
    for ear in (0, 1):
        direct = np.convolve(whole[:, ear], taps[:, ear])[delay:]
        np.testing.assert_allclose(
            sound.samples[:, ear], direct[first : first + 96_000], atol=1.01 * 2**-24
        )
    assert any("keeps its delay" in remark for remark in sound.remarks) is not is_symmetric


@pytest.mark.parametrize("rate_hz", [44_100, 96_000])
def test_that_taps_of_another_rate_filter_alike(
    make_recording, tmp_path: Path, rate_hz: int
) -> None:
    # Three equal steps apart by 1 ms: a comb of the closed form (1 + 2 cos(2 pi f t)) / 3.
    step = round(rate_hz / 1000)
    taps = np.zeros(2 * step + 1)
    taps[[0, step, -1]] = 1 / 3
    equaliser = read_equaliser(_sound_file(tmp_path / "fir.wav", taps, rate_hz))
    time_s = np.arange(3 * 48_000) / 48_000
    for frequency_hz in (30.0, 1000.0, 9100.0, 17_300.0):
        tone = 0.5 * np.sin(2 * np.pi * frequency_hz * time_s)
        source = make_recording(samples=np.stack([tone, tone], axis=1), subtype="PCM_24")

        sound = cut_sound(source, _CUT, equaliser=equaliser)

        gain = (1 + 2 * np.cos(2 * np.pi * frequency_hz * step / rate_hz)) / 3
        np.testing.assert_allclose(sound.samples[:, 0], gain * tone[24_000:120_000], atol=2e-5)
    assert f"equaliser resampled from {rate_hz} to 48000 Hz" in sound.remarks


def test_that_a_boost_beyond_full_scale_is_refused_with_its_decibels(
    make_recording, tmp_path: Path
) -> None:
    source = make_recording()
    equaliser = read_equaliser(_sound_file(tmp_path / "fir.wav", np.array([0.0, 4.0, 0.0])))

    # Noise up to 0.4 raised by 12.04 dB peaks 4.08 dB above full scale.
    with pytest.raises(RecordingError, match=r"full scale by 4\.1 dB behind the equaliser"):
        cut_clip(source, tmp_path / "clip.wav", _CUT, equaliser=equaliser)

    assert not (tmp_path / "clip.wav").exists()


@pytest.mark.slow
@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        ("", "holds no taps"),
        ("# nothing\n", "holds no taps"),
        ("left,right\n1,1\n", 'line 1: "left" is not a number'),
        ("1, 2\n3\n", "same number of columns"),
        ("1,2,3\n4,5,6\n", "has 3 columns"),
        ("1\nnan\n", 'line 2: "nan" is not a number'),
        ("0,5\n-0,1\n", "may be decimal commas, or commas between columns"),
        ("0.5,0.25\n0,0\n", 'line 2: "0,0" may be decimal commas'),
        ("0,5 0,25\n", "may be decimal commas"),
        ("0.5;1.234,5\n", 'line 1: "1.234,5" can be read in more than one way'),
        ("0\n0\n", "silence an ear"),
        ("1, 0\n2, 0\n", "silence an ear"),
        ("# sample_rate_hz = 12\n1\n", "sample rate of 12 Hz"),
        ("1\n" * (2**17 + 1), "131072 taps at most"),
    ],
)
def test_that_a_file_without_taps_is_one_sentence(
    tmp_path: Path, content: str, sentence: str
) -> None:
    with pytest.raises(RecordingError) as refusal:
        read_equaliser(_text(tmp_path / "fir.txt", content))
    assert sentence in refusal.value.what_happened
    assert "'fir.txt'" in refusal.value.what_happened


def test_that_a_recording_is_no_equaliser(make_recording, tmp_path: Path) -> None:
    with pytest.raises(RecordingError, match="taps at most"):
        read_equaliser(make_recording())
    with pytest.raises(RecordingError, match="has 4 columns"):
        read_equaliser(_sound_file(tmp_path / "fir.wav", np.ones((5, 4))))
    with pytest.raises(RecordingError, match=r"no file 'no\.csv'|'no\.csv' cannot be read"):
        read_equaliser(tmp_path / "no.csv")
