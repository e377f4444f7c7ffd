"""A clip file is whole or absent, and tells nothing but its sound."""

import errno
import hashlib
import os
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier

import numpy as np
import pytest

from ratings.clips import clip_files
from ratings.clips.cutting import ClipCut, cut_clip
from ratings.errors import RecordingError

_CUT = ClipCut(left_channel=0, right_channel=1, start_s=0.5, stop_s=2.5)


def test_that_a_clip_file_carries_no_tags(make_recording, tmp_path: Path) -> None:
    facts = cut_clip(make_recording(), tmp_path / "clip.wav", _CUT)

    content = (tmp_path / "clip.wav").read_bytes()
    # Header of 44 bytes and two 3-byte samples per frame: there is room for nothing else.
    assert len(content) == 44 + 96_000 * 6 == clip_files.clip_file_bytes(96_000)
    assert content[12:16] == b"fmt "
    assert content[36:40] == b"data"
    assert facts.content_hash == hashlib.sha256(content).hexdigest()


def test_that_clips_differ_in_nothing_but_their_sound(make_recording, tmp_path: Path) -> None:
    first, second = tmp_path / "kq.wav", tmp_path / "tm.wav"
    cut_clip(make_recording("a.wav"), first, _CUT)
    cut_clip(make_recording("b.flac", rate_hz=44_100, channels=1), second, _CUT)

    assert first.read_bytes()[:44] == second.read_bytes()[:44]
    for told in ("st_size", "st_mode", "st_mtime_ns", "st_uid"):
        assert getattr(first.stat(), told) == getattr(second.stat(), told), told
    # 2000-01-01 00:00 UTC.
    assert first.stat().st_mtime == 946_684_800


def test_that_cutting_twice_gives_the_same_file(make_recording, tmp_path: Path) -> None:
    source = make_recording()

    hashes = {cut_clip(source, tmp_path / "clip.wav", _CUT).content_hash for _ in range(2)}

    assert len(hashes) == 1
    assert sorted(path.name for path in tmp_path.iterdir()) == ["clip.wav", "run.wav"]


def test_that_the_recording_itself_is_never_overwritten(make_recording) -> None:
    source = make_recording()
    before = source.read_bytes()

    with pytest.raises(RecordingError, match="overwrite its own recording"):
        cut_clip(source, source, _CUT)
    link = source.with_name("clip.wav")
    link.symlink_to(source)
    with pytest.raises(RecordingError, match="overwrite its own recording"):
        cut_clip(source, link, _CUT)

    assert source.read_bytes() == before


def test_that_a_missing_folder_is_told(make_recording, tmp_path: Path) -> None:
    with pytest.raises(RecordingError, match="There is no folder 'clips'"):
        cut_clip(make_recording(), tmp_path / "clips" / "clip.wav", _CUT)


def test_that_a_folder_in_the_place_of_the_clip_is_told(make_recording, tmp_path: Path) -> None:
    (tmp_path / "clip.wav").mkdir()

    with pytest.raises(RecordingError, match="cannot be written"):
        cut_clip(make_recording(), tmp_path / "clip.wav", _CUT)
    assert not list(tmp_path.glob(".*"))


def test_that_a_read_only_folder_is_told_and_keeps_its_clip(
    make_recording, tmp_path: Path, as_nobody
) -> None:
    source = make_recording()
    clips = tmp_path / "clips"
    clips.mkdir()
    (clips / "clip.wav").write_bytes(b"the clip of yesterday")
    clips.chmod(0o555)

    with as_nobody(), pytest.raises(RecordingError, match="read-only"):
        cut_clip(source, clips / "clip.wav", _CUT)

    assert [path.name for path in clips.iterdir()] == ["clip.wav"]
    assert (clips / "clip.wav").read_bytes() == b"the clip of yesterday"
    clips.chmod(0o755)


def test_that_a_write_that_breaks_off_leaves_nothing(make_recording, tmp_path: Path) -> None:
    resource = pytest.importorskip("resource")
    source = make_recording()
    (tmp_path / "clip.wav").write_bytes(b"the clip of yesterday")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    # The system itself stops the write after 100 kB, in the middle of the clip.
    resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, hard))
    try:
        with pytest.raises(RecordingError, match="cannot be written"):
            cut_clip(source, tmp_path / "clip.wav", _CUT)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))

    assert sorted(path.name for path in tmp_path.iterdir()) == ["clip.wav", "run.wav"]
    assert (tmp_path / "clip.wav").read_bytes() == b"the clip of yesterday"


def test_that_a_full_disk_is_told(make_recording, tmp_path: Path, monkeypatch) -> None:
    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(clip_files.os, "fsync", full)

    with pytest.raises(RecordingError, match="full") as refusal:
        cut_clip(make_recording(), tmp_path / "clip.wav", _CUT)

    assert "safe" in refusal.value.what_to_do
    assert [path.name for path in tmp_path.iterdir()] == ["run.wav"]


def test_that_two_programs_may_write_the_same_clip_at_once(tmp_path: Path) -> None:
    codes = np.random.default_rng(5).integers(-(2**22), 2**22, (48_000, 2), dtype=np.int32)
    source = tmp_path / "run.wav"
    source.write_bytes(b"the recording")
    start = Barrier(4)

    def write(_: int) -> set[str]:
        start.wait()
        return {
            clip_files.write_clip(tmp_path / "clip.wav", codes, 48_000, source) for _ in range(10)
        }

    with ThreadPoolExecutor(4) as pool:
        hashes = set().union(*pool.map(write, range(4)))

    assert hashes == {hashlib.sha256((tmp_path / "clip.wav").read_bytes()).hexdigest()}
    assert sorted(path.name for path in tmp_path.iterdir()) == ["clip.wav", "run.wav"]


def test_that_what_a_killed_program_left_goes_after_an_hour(
    make_recording, tmp_path: Path, monkeypatch
) -> None:
    source = make_recording()
    left = tmp_path / ".clip.wav.0123456789ab.partial"
    left.write_bytes(b"half")

    cut_clip(source, tmp_path / "clip.wav", _CUT)
    assert left.exists()

    later_s = time.time() + 3700
    monkeypatch.setattr(clip_files.time, "time", lambda: later_s)
    cut_clip(source, tmp_path / "clip.wav", _CUT)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["clip.wav", "run.wav"]
