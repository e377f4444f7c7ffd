"""A file that was cut off or never finished is told, never quietly shortened."""

import os
import struct

import numpy as np
import pytest

from ratings.errors import RecordingError
from ratings.recordings.opening import open_recording
from ratings.recordings.read import describe, read_sound

_KINDS = [
    ("run.wav", "WAV"),
    ("run.wav", "WAVEX"),
    ("run.wav", "RF64"),
    ("run.w64", "W64"),
    ("run.aiff", "AIFF"),
    ("run.caf", "CAF"),
    ("run.flac", "FLAC"),
    ("run.ogg", "OGG"),
]


@pytest.mark.parametrize(("name", "file_format"), _KINDS)
def test_that_a_whole_file_of_each_kind_is_read(make_recording, name, file_format) -> None:
    path = make_recording(name, file_format=file_format)

    assert describe(path).frames == 3 * 48_000
    assert read_sound(path).samples.shape == (3 * 48_000, 2)


@pytest.mark.slow
@pytest.mark.parametrize("share", [0.02, 0.3, 0.6, 0.95, 0.9999])
@pytest.mark.parametrize(("name", "file_format"), _KINDS)
def test_that_a_file_cut_off_anywhere_is_refused(
    make_recording, name: str, file_format: str, share: float
) -> None:
    path = make_recording(name, file_format=file_format)
    content = path.read_bytes()
    path.write_bytes(content[: int(len(content) * share)])

    with pytest.raises(RecordingError, match=r"cut off|damaged|never finished|cannot be read"):
        describe(path)
    with pytest.raises(RecordingError, match=r"cut off|damaged|never finished|cannot be read"):
        read_sound(path)


def test_that_an_ogg_file_cut_off_between_two_pages_is_refused(make_recording) -> None:
    path = make_recording("run.ogg")
    content = path.read_bytes()
    path.write_bytes(content[: content.rindex(b"OggS")])

    with pytest.raises(RecordingError, match="never finished"):
        describe(path)


def test_that_a_file_that_shrinks_while_it_is_read_is_told(make_recording) -> None:
    path = make_recording(duration_s=20)

    with open_recording(path) as recording:
        os.truncate(path, path.stat().st_size // 2)
        with pytest.raises(RecordingError, match=r"promises 20\.000 s .* beyond about 10\.000 s"):
            recording.read(0, recording.frames)


def test_that_a_single_missing_byte_is_noticed(make_recording) -> None:
    path = make_recording()
    path.write_bytes(path.read_bytes()[:-1])

    with pytest.raises(RecordingError, match="cut off"):
        describe(path)


def test_that_it_says_how_much_is_there(make_recording) -> None:
    path = make_recording(subtype="PCM_16")
    path.write_bytes(path.read_bytes()[: 44 + 2 * 48_000 * 4])

    with pytest.raises(RecordingError, match=r"\(2\.000 of 3\.000 s\)"):
        describe(path)


def test_that_a_header_without_its_sound_is_told(make_recording) -> None:
    path = make_recording()
    path.write_bytes(path.read_bytes()[:44])

    with pytest.raises(RecordingError, match="the file holds 0"):
        describe(path)


@pytest.mark.parametrize("size", [0, 0xFFFF_FFFF])
@pytest.mark.parametrize("whole_size", [0, 36, 0xFFFF_FFFF])
def test_that_a_recorder_stopped_mid_recording_is_told(
    make_recording, size: int, whole_size: int
) -> None:
    path = make_recording()
    content = bytearray(path.read_bytes())
    content[4:8] = struct.pack("<I", whole_size)
    content[40:44] = struct.pack("<I", size)
    path.write_bytes(content)

    with pytest.raises(RecordingError, match=r"never finished|length is zero"):
        describe(path)


def test_that_rf64_sizes_never_written_are_told(make_recording) -> None:
    path = make_recording(file_format="RF64")
    content = bytearray(path.read_bytes())
    at = content.index(b"ds64") + 8
    content[at : at + 24] = bytes(24)
    path.write_bytes(content)

    with pytest.raises(RecordingError, match="never finished"):
        describe(path)


def test_that_sound_behind_the_end_of_the_header_is_told(make_recording) -> None:
    # A recorder that corrects its header now and then, stopped in between, or a size that
    # wrapped at 4 GB, leaves more sound than the header tells.
    path = make_recording(subtype="PCM_16", duration_s=3)
    content = bytearray(path.read_bytes())
    kept = 48_000 * 4
    content[4:8] = struct.pack("<I", 36 + kept)
    content[40:44] = struct.pack("<I", kept)
    path.write_bytes(content)

    with pytest.raises(RecordingError, match=r"1\.000 s by the header, .* 2\.000 s of sound"):
        describe(path)


def test_that_notes_behind_the_sound_do_no_harm(make_recording) -> None:
    path = make_recording()
    content = bytearray(path.read_bytes())
    note = b"LIST" + struct.pack("<I", 40_000) + bytes(40_000)
    content[4:8] = struct.pack("<I", len(content) + len(note) - 8)
    path.write_bytes(bytes(content) + note)

    assert describe(path).frames == 3 * 48_000


def test_that_chunks_before_the_sound_are_stepped_over(make_recording) -> None:
    path = make_recording()
    content = path.read_bytes()
    odd = b"note" + struct.pack("<I", 7) + b"wet run\0"
    whole = struct.pack("<I", len(content) + len(odd) - 8)
    path.write_bytes(content[:4] + whole + content[8:12] + odd + content[12:])

    assert describe(path).frames == 3 * 48_000


def test_that_a_flac_stream_of_unknown_length_is_told(make_recording) -> None:
    path = make_recording("run.flac")
    content = bytearray(path.read_bytes())
    content[21] &= 0xF0
    content[22:26] = bytes(4)
    path.write_bytes(content)

    with pytest.raises(RecordingError, match="never finished"):
        describe(path)


def test_that_a_flac_file_damaged_inside_is_told(make_recording) -> None:
    path = make_recording("run.flac")
    content = bytearray(path.read_bytes())
    middle = len(content) // 2
    content[middle : middle + 200] = bytes(200)
    path.write_bytes(content)

    with pytest.raises(RecordingError, match="damaged or was cut off"):
        describe(path)


def test_that_no_broken_header_makes_the_reader_hang_or_trip(make_recording) -> None:
    generator = np.random.default_rng(3)
    refusals = []
    for name, file_format in _KINDS:
        path = make_recording(name, file_format=file_format, duration_s=0.05)
        content = path.read_bytes()
        for _ in range(60):
            broken = bytearray(content)
            for place in generator.integers(0, 120, 3):
                broken[place] = generator.integers(0, 256)
            path.write_bytes(broken)
            try:
                read_sound(path, 0, 1)
                assert describe(path).frames > 0
            except RecordingError as refusal:
                refusals.append(refusal.what_happened)
    assert len(refusals) > 100
    assert all("'run." in sentence for sentence in refusals)
