"""Sentences about files stand on one line, and what is no ordinary file is never waited for."""

import os
from pathlib import Path

import numpy as np
import pytest
import soundfile

from ratings.clips.equaliser import read_equaliser
from ratings.errors import FullScaleError, RecordingError
from ratings.recordings.opening import open_recording
from ratings.recordings.refusals import (
    printable,
    refuse_changed,
    shown_name,
    state_of,
    told_by_its_own_name,
)
from ratings.recordings.speed.trace_files import read_speed_trace

READERS = {
    "run.wav": lambda path: open_recording(path).__enter__(),
    "speed.csv": read_speed_trace,
    "taps.txt": read_equaliser,
}


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("run\n2.wav", r"'run\n2.wav'"),
        ("run\u20282.wav", r"'run\u20282.wav'"),
        ("wet \u00fcber.wav", "'wet \u00fcber.wav'"),
        (os.fsdecode(b"run\xff.wav"), r"'run\udcff.wav'"),
        (".", "'.'"),
        ("/", "'/'"),
    ],
)
def test_that_a_name_is_shown_on_one_line(name: str, shown: str) -> None:
    assert shown_name(Path(name)) == shown


def test_that_backslashes_are_shown_as_they_are() -> None:
    assert printable("C:\\new runs") == "C:\\new runs"


def test_that_a_missing_file_is_told_with_the_folder_one_is_in(tmp_path, monkeypatch) -> None:
    folder = tmp_path / "day 2"
    folder.mkdir()
    monkeypatch.chdir(folder)
    for read in READERS.values():
        with pytest.raises(RecordingError) as refused:
            read(Path("missing.txt"))
        assert "'missing.txt'" in refused.value.what_happened
        assert "''" not in refused.value.what_happened
    with pytest.raises(RecordingError, match="in the folder 'day 2'"):
        read_speed_trace(Path("missing.csv"))


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
@pytest.mark.parametrize("name", READERS)
def test_that_a_pipe_is_refused_and_not_waited_for(tmp_path: Path, name: str) -> None:
    pipe = tmp_path / name
    os.mkfifo(pipe)
    with pytest.raises(RecordingError, match="not an ordinary file"):
        READERS[name](pipe)


@pytest.mark.parametrize("name", READERS)
def test_that_a_folder_is_told_as_one(tmp_path: Path, name: str) -> None:
    folder = tmp_path / name
    folder.mkdir()
    with pytest.raises(RecordingError, match=r"is a folder, not an? "):
        READERS[name](folder)


@pytest.mark.skipif(os.name == "nt", reason="names are text on this system")
def test_that_a_name_that_is_no_text_is_opened(tmp_path: Path) -> None:
    plain = tmp_path / "run.wav"
    soundfile.write(plain, np.full((9_000, 1), 0.25), 48_000, subtype="PCM_16")
    odd = tmp_path / os.fsdecode(b"run\xff.wav")
    plain.rename(odd)
    with open_recording(odd) as recording:
        assert recording.read(0, 9_000).max() == 0.25


def test_that_values_beyond_every_recorder_are_refused_with_their_place(tmp_path: Path) -> None:
    path = tmp_path / "run.wav"
    samples = np.zeros((9_000, 2))
    samples[4_800, 1] = -1e200
    soundfile.write(path, samples, 48_000, subtype="DOUBLE")
    with (
        open_recording(path) as recording,
        pytest.raises(RecordingError, match=r"values such as -1e\+200, first in channel 2 at 0.1"),
    ):
        recording.read(0, 9_000)


def test_that_a_file_that_grows_or_goes_is_told(tmp_path: Path) -> None:
    path = tmp_path / "run.wav"
    path.write_bytes(b"first")
    before = state_of(path)
    refuse_changed(path, before)
    path.write_bytes(b"first and second")
    with pytest.raises(RecordingError, match="was changed while it was read"):
        refuse_changed(path, before)
    path.unlink()
    with pytest.raises(RecordingError, match="There is no file"):
        refuse_changed(path, before)


def test_that_damaged_numbers_are_refused_without_a_warning(tmp_path: Path) -> None:
    h5py = pytest.importorskip("h5py")
    path = tmp_path / "run.h5"
    # A signalling NaN, which warns when it is converted to double precision.
    samples = np.zeros(9_000, np.float32)
    samples[4_800:4_801] = np.array([0x7F800001], np.uint32).view(np.float32)
    with h5py.File(path, "w") as file:
        file["mic"] = samples
        file.attrs["fs"] = 48_000
    with (
        open_recording(path) as recording,
        pytest.raises(RecordingError, match=r"not numbers, first in channel 1 at 0\.100 s"),
    ):
        recording.read(0, 9_000)


def test_that_an_mdf_file_cut_off_while_it_is_read_is_told(tmp_path: Path) -> None:
    asammdf = pytest.importorskip("asammdf")
    path = tmp_path / "run.mf4"
    time_s = np.arange(96_000) / 48_000
    noise = np.random.default_rng(1).normal(0, 0.1, 96_000)
    with asammdf.MDF() as file:
        file.append([asammdf.Signal(noise, time_s, name="mic", unit="Pa")])
        file.save(path)
    with open_recording(path) as recording:
        os.truncate(path, path.stat().st_size // 2)
        with pytest.raises(RecordingError, match="damaged or was cut off"):
            recording.read(0, 96_000)


def test_that_a_refusal_told_by_the_name_of_the_original_keeps_its_kind_and_figures() -> None:
    copy, original = Path("3fa8.wav"), Path("run 1.wav")
    with (
        pytest.raises(
            FullScaleError, match=r"Too loud: 'run 1\.wav'\. Lower 'run 1\.wav'\."
        ) as told,
        told_by_its_own_name(copy, original),
    ):
        raise FullScaleError("Too loud: '3fa8.wav'.", "Lower '3fa8.wav'.", over_db=3.0, clips=2)
    assert (told.value.over_db, told.value.clips) == (3.0, 2)
