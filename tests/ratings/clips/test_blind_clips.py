"""Where a clip came from, and the key that is never lost."""

import errno
import json
from datetime import UTC, datetime, timedelta, timezone
from importlib.metadata import version
from pathlib import Path
from typing import Never

import pytest

from ratings.clips.alike import PlannedClip
from ratings.clips.blind_clips import provenance, write_key
from ratings.clips.cutting import ClipCut, cut_clip
from ratings.clips.loop_points import Loop
from ratings.clips.sources import clip_source
from ratings.errors import RecordingError
from ratings.recordings.read import content_hash


def test_that_all_that_cuts_a_clip_again_is_kept(make_recording, tmp_path: Path) -> None:
    source = make_recording("my set.wav", channels=4, rate_hz=44_100)
    cut = ClipCut(2, 3, 0.5, 2.5, gain_db=-1.5, fade_s=0.02)
    facts = cut_clip(source, tmp_path / "clip.wav", cut)
    here = datetime(2026, 5, 4, 14, 30, tzinfo=timezone(timedelta(hours=2)))
    loop = Loop(100, 90_000, -6.0, 2.0)

    planned = PlannedClip(clip_source(source, 2, 3), cut, 48_000)

    kept = json.loads(json.dumps(provenance(planned, facts, loop, here)))

    assert kept == {
        "recording_name": "my set.wav",
        "recording_hash": content_hash(source),
        "recording_rate_hz": 44_100,
        "left_channel": 3,
        "right_channel": 4,
        "start_s": 0.5,
        "stop_s": 2.5,
        "gain_db": -1.5,
        "fade_s": 0.02,
        "equaliser_id": "",
        "sample_rate_hz": 48_000,
        "frames": 96_000,
        "clip_hash": content_hash(tmp_path / "clip.wav"),
        "loop": {"start_frame": 100, "stop_frame": 90_000, "seam_db": -6.0, "colour_db": 2.0},
        "program_version": version("twinset"),
        "made_at": "2026-05-04T12:30:00+00:00",
    }


def test_that_a_single_channel_stands_for_both_ears(make_recording, tmp_path: Path) -> None:
    source = clip_source(make_recording(channels=1), 0, 1)
    cut = ClipCut(*source.ears, 0.5, 2.5)
    facts = cut_clip(source.path, tmp_path / "clip.wav", cut)

    kept = provenance(PlannedClip(source, cut, 48_000), facts, None, datetime.now(UTC))

    assert (kept["left_channel"], kept["right_channel"], kept["loop"]) == (1, 1, None)


def test_that_a_key_is_never_overwritten_or_half_written(tmp_path: Path) -> None:
    key = tmp_path / "key.json"
    write_key(key, {"clips": []})
    with pytest.raises(RecordingError, match="There is a key"):
        write_key(key, {"clips": [1]})
    assert json.loads(key.read_text(encoding="utf-8")) == {"clips": []}
    with pytest.raises(RecordingError, match="cannot be written: no such file"):
        write_key(tmp_path / "no" / "key.json", {})


def test_that_a_full_disk_leaves_no_half_key(tmp_path: Path, monkeypatch) -> None:
    def full(*_: object) -> Never:
        raise OSError(errno.ENOSPC, "No space left on device")

    key = tmp_path / "key.json"
    ordinary = Path.open

    def open_on_a_full_disk(path: Path, *arguments, **options):
        stream = ordinary(path, *arguments, **options)
        stream.flush = full
        return stream

    monkeypatch.setattr(Path, "open", open_on_a_full_disk)
    with pytest.raises(RecordingError, match="no space left on device"):
        write_key(key, {"clips": []})

    assert not key.exists()
