"""One sentence for everything that can be wrong with a sound file."""

import math
import os
import struct
import tracemalloc
from pathlib import Path

import numpy as np
import pytest
import soundfile
import soxr
from reference_data import beside

from ratings.errors import RecordingError
from ratings.recordings.opening import at_rate, open_recording
from ratings.recordings.read import describe, read_sound


def _refusal(path: Path) -> str:
    """Give the sentence; both ways in must refuse alike, and each must say what to do."""
    with pytest.raises(RecordingError) as described:
        describe(path)
    with pytest.raises(RecordingError) as read:
        read_sound(path)
    assert described.value.what_to_do
    assert read.value.what_to_do
    sentence = described.value.what_happened
    assert path.name in sentence
    assert path.name in read.value.what_happened
    assert "\n" not in sentence
    return sentence


def test_that_a_missing_file_is_told(tmp_path: Path) -> None:
    assert "There is no file" in _refusal(tmp_path / "missing.wav")


def test_that_a_path_through_a_file_is_told_as_missing(make_recording) -> None:
    assert "There is no file" in _refusal(make_recording() / "missing.wav")


def test_that_a_folder_is_told(tmp_path: Path) -> None:
    assert "folder" in _refusal(tmp_path)


def test_that_a_name_too_long_for_the_disk_is_told(tmp_path: Path) -> None:
    assert "cannot be read" in _refusal(tmp_path / ("long" * 100))


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_that_a_pipe_is_told_instead_of_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.wav")

    assert "not an ordinary file" in _refusal(tmp_path / "pipe.wav")


def test_that_a_forbidden_file_is_told(make_recording, as_nobody) -> None:
    path = make_recording()
    path.chmod(0)

    with as_nobody():
        assert "not allowed" in _refusal(path)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "content", "expected"),
    [
        ("empty.wav", b"", "it holds no bytes"),
        ("letters.wav", b"These are the notes of the third run.\n" * 50, "no header"),
        ("noise.flac", bytes(range(256)) * 40, "no header"),
        ("notes.txt", b"wind 3 m/s", "not a sound file"),
        ("song.mp3", b"ID3\x04" + bytes(5000), "not a sound file"),
        ("stub.wav", b"RIFF\x24\x00\x00\x00WAVE", "damaged"),
        ("stub.flac", b"fLaC\x00\x00\x00\x22" + bytes(34), "damaged"),
        ("stub.ogg", b"OggS" + bytes(50), "damaged"),
        ("two.wav", b"RI", "no header"),
    ],
)
def test_that_what_is_no_sound_is_told(
    tmp_path: Path, name: str, content: bytes, expected: str
) -> None:
    (tmp_path / name).write_bytes(content)

    assert expected in _refusal(tmp_path / name)


def test_that_a_wrong_extension_does_not_matter_when_the_content_is_sound(make_recording) -> None:
    wav = make_recording("run.wav", duration_s=1)
    renamed = wav.rename(wav.with_suffix(".txt"))

    assert describe(renamed).container == "WAV"


def test_that_the_extension_of_headerless_samples_is_told(make_recording) -> None:
    wav = make_recording("run.wav", duration_s=1)

    assert "headerless" in _refusal(wav.rename(wav.with_suffix(".raw")))


def test_that_no_frames_at_all_are_told(make_recording) -> None:
    assert "length is zero" in _refusal(make_recording(samples=np.zeros((0, 2))))


@pytest.mark.parametrize("rate_hz", [1, 7_999, 768_001, 2_000_000_000])
def test_that_an_absurd_sample_rate_is_told(make_recording, rate_hz: int) -> None:
    path = make_recording(duration_s=0.1)
    content = bytearray(path.read_bytes())
    content[24:28] = struct.pack("<I", rate_hz)
    path.write_bytes(content)

    assert f"{rate_hz} Hz" in _refusal(path)


def test_that_a_sample_rate_of_zero_is_told(make_recording) -> None:
    path = make_recording(duration_s=0.1)
    content = bytearray(path.read_bytes())
    content[24:28] = bytes(4)
    path.write_bytes(content)

    assert "damaged" in _refusal(path)


def test_that_500_channels_are_told(make_recording) -> None:
    assert "500 channels" in _refusal(make_recording(samples=np.zeros((1000, 500))))


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
def test_that_a_value_that_is_no_number_is_told_with_its_place(make_recording, bad: float) -> None:
    samples = np.zeros((200_000, 2))
    samples[144_000, 1] = bad

    sentence = _refusal(make_recording(samples=samples, subtype="FLOAT"))

    assert "channel 2 at 3.000 s" in sentence


def test_that_a_name_the_disk_holds_in_another_encoding_is_printable(tmp_path: Path) -> None:
    path = tmp_path / os.fsdecode(b"stra\xdfe.wav")

    with pytest.raises(RecordingError) as refusal:
        describe(path)

    assert "stra" in refusal.value.what_happened.encode("utf-8").decode()


def test_that_a_headerless_file_that_calls_itself_wav_is_told() -> None:
    assert "no header" in _refusal(beside("recordings/locked_BROKEN-headerless.wav"))


@pytest.mark.parametrize(
    ("name", "container", "encoding", "rate_hz", "channels", "frames"),
    [
        ("aircraft_recording.wav", "WAV", "PCM_24", 44_100, 1, 1_185_408),
        ("skid_tyres.wav", "WAV", "PCM_U8", 40_000, 1, 173_700),
        ("rain.ogg", "OGG", "VORBIS", 44_100, 2, None),
    ],
)
def test_that_recordings_made_elsewhere_are_read_whole(
    name: str, container: str, encoding: str, rate_hz: int, channels: int, frames: int | None
) -> None:
    path = beside(f"recordings/{name}")

    facts = describe(path)

    assert (facts.container, facts.encoding) == (container, encoding)
    assert (facts.sample_rate_hz, facts.channels) == (rate_hz, channels)
    # Frames of the WAV files from the size in bytes of their data chunks, by hand.
    assert frames in (None, facts.frames)
    assert read_sound(path).samples.shape == (facts.frames, channels)
    assert not facts.is_silent


_RATES = [(51_200, 48_000), (44_100, 48_000), (40_000, 48_000), (48_000, 51_200), (96_000, 48_000)]


@pytest.mark.parametrize(("from_hz", "to_hz"), _RATES)
@pytest.mark.parametrize("block_frames", [1_000, 65_536, None])
def test_that_blocks_equal_the_whole(make_recording, from_hz, to_hz, block_frames) -> None:
    samples = np.random.default_rng(5).uniform(-0.5, 0.5, (150_007, 3))
    path = make_recording(samples=samples, rate_hz=from_hz, subtype="DOUBLE")

    with open_recording(path) as recording:
        if block_frames is None:
            blocks = list(recording.blocks_at(to_hz))
        else:
            blocks = list(at_rate(recording.blocks(block_frames), 3, from_hz, to_hz))

    joined = np.concatenate(blocks)
    assert abs(len(joined) - len(samples) * to_hz / from_hz) <= 1
    np.testing.assert_allclose(
        joined, soxr.resample(samples, from_hz, to_hz, quality="VHQ"), rtol=0, atol=1e-9
    )


def test_that_a_tone_keeps_level_and_place(make_recording) -> None:
    time_s = np.arange(2 * 51_200) / 51_200
    path = make_recording(
        samples=0.5 * np.sin(2 * np.pi * 997 * time_s)[:, np.newaxis],
        rate_hz=51_200,
        subtype="DOUBLE",
    )

    with open_recording(path) as recording:
        found = np.concatenate(list(recording.blocks_at(48_000)))[:, 0]

    expected = 0.5 * np.sin(2 * np.pi * 997 * np.arange(len(found)) / 48_000)
    inner = slice(4_800, -4_800)
    np.testing.assert_allclose(found[inner], expected[inner], rtol=0, atol=1e-6)


def test_that_the_same_rate_leaves_every_sample_alone(make_recording) -> None:
    path = make_recording(channels=2)
    with open_recording(path) as recording:
        whole = recording.read(0, recording.frames)
        np.testing.assert_array_equal(np.concatenate(list(recording.blocks_at(48_000))), whole)


@pytest.mark.parametrize("frames", [1, 2, 997, 65_536])
def test_that_blocks_of_a_wished_length_hold_every_sample_once(make_recording, frames) -> None:
    samples = np.random.default_rng(6).uniform(-0.5, 0.5, (2_000 if frames < 9 else 150_000, 2))
    path = make_recording(samples=samples, subtype="DOUBLE")

    with open_recording(path) as recording:
        blocks = list(recording.blocks(frames))

    assert {len(block) for block in blocks[:-1]} <= {frames}
    assert len(blocks) == math.ceil(len(samples) / frames)
    np.testing.assert_array_equal(np.concatenate(blocks), samples)


def test_that_a_recording_of_one_sample_comes_through(make_recording) -> None:
    path = make_recording(samples=np.array([[0.5, -0.5]]), rate_hz=51_200)
    with open_recording(path) as recording:
        assert sum(map(len, recording.blocks_at(48_000))) in (0, 1, 2)


def test_that_memory_does_not_grow_with_length(tmp_path) -> None:
    second = np.random.default_rng(4).integers(-20_000, 20_000, (51_200, 8), dtype=np.int16)
    peaks = []
    for duration_s in (6, 30):
        path = tmp_path / f"{duration_s}.wav"
        with soundfile.SoundFile(path, "w", 51_200, 8, "PCM_16") as sound_file:
            for _ in range(duration_s):
                sound_file.write(second)
        with open_recording(path) as recording:
            tracemalloc.start()
            frames = sum(map(len, recording.blocks_at(48_000)))
            peaks.append(tracemalloc.get_traced_memory()[1])
            tracemalloc.stop()
        assert frames == duration_s * 48_000

    assert peaks[1] < 1.1 * peaks[0]
