import hashlib
import os
import stat
from pathlib import Path

import pytest

from ratings.errors import RecordingError, StudyError
from ratings.storage import file_copies
from ratings.storage.file_copies import copy_checked, put_in_place

CONTENT = bytes(range(256)) * 40_000


@pytest.fixture
def original(tmp_path):
    path = tmp_path / "run.wav"
    path.write_bytes(CONTENT)
    return path


def test_that_a_copy_is_the_same_and_its_hash_is_that_of_its_content(original, tmp_path):
    parts = []
    found = copy_checked(original, tmp_path / "copy", parts.append)
    assert found == hashlib.sha256(CONTENT).hexdigest()
    assert (tmp_path / "copy").read_bytes() == CONTENT == original.read_bytes()
    assert parts == sorted(parts)
    assert parts[-1] == 1.0
    assert len(parts) == 3


def test_that_a_copy_tells_no_time_of_driving(original, tmp_path):
    times = []
    for number, time in enumerate((1_700_000_000, 1_800_000_000)):
        os.utime(original, (time, time))
        copy_checked(original, tmp_path / str(number), lambda _: None)
        times.append((tmp_path / str(number)).stat()[stat.ST_MTIME])
    assert times[0] == times[1] < 1_000_000_000


def test_that_a_disk_that_does_not_keep_what_is_written_is_noticed(original, tmp_path, monkeypatch):
    def flip(path):
        data = bytearray(path.read_bytes())
        data[5000] ^= 1
        return hashlib.sha256(data).hexdigest()

    monkeypatch.setattr(file_copies, "content_hash", flip)
    with pytest.raises(StudyError, match=r"copy of 'run\.wav' differs from the original"):
        copy_checked(original, tmp_path / "copy", lambda _: None)


def test_that_a_full_disk_and_a_missing_original_are_told_apart(original, tmp_path):
    with pytest.raises(RecordingError, match=r"'gone\.wav' cannot be read"):
        copy_checked(tmp_path / "gone.wav", tmp_path / "copy", lambda _: None)
    with pytest.raises(StudyError, match=r"'run\.wav' cannot be copied into the study: no such"):
        copy_checked(original, tmp_path / "no folder" / "copy", lambda _: None)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device here that is always full")
def test_that_a_full_disk_is_told_with_its_reason(original, tmp_path, monkeypatch):
    real = type(tmp_path).open

    def open_full(path, mode="r", *rest):
        if path.name == "copy":
            return real(type(tmp_path)("/dev/full"), "wb", buffering=0)
        return real(path, mode, *rest)

    monkeypatch.setattr(type(tmp_path), "open", open_full)
    with pytest.raises(StudyError, match="no space left on device"):
        copy_checked(original, tmp_path / "copy", lambda _: None)


def test_that_a_file_is_put_in_place_unless_the_same_lies_there_whole(original, tmp_path):
    content = hashlib.sha256(CONTENT).hexdigest()
    destination = tmp_path / "kept.wav"
    for is_put, before in ((True, None), (False, CONTENT), (True, CONTENT[:-1])):
        copy_checked(original, tmp_path / "copy", lambda _: None)
        if before is not None:
            destination.write_bytes(before)
        assert put_in_place(tmp_path / "copy", destination, content) is is_put
        assert destination.read_bytes() == CONTENT
        (tmp_path / "copy").unlink(missing_ok=True)
