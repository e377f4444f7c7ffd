"""Studies made to reach files outside of their folder."""

import os
from pathlib import Path

import pytest
from studies import nth, nth_id, small_study
from study_damage import patched, read_everything

from ratings.errors import StudyError
from ratings.storage.cells import BadCellError, cell
from ratings.storage.mending import restore_clips
from ratings.storage.recording_desk import RecordingDesk
from ratings.storage.run_rows import stored_name
from ratings.storage.study_folder import open_study

OUTSIDE = (
    "../../victim",
    "..",
    "/tmp/victim",
    "C:victim",
    "a/b",
    "a\\b",
    "con",
    "nul.wav",
    ".x",
    "0123456789/..",
    "0123456789\n",
    "",
)


@pytest.fixture
def folder(tmp_path):
    study = small_study(tmp_path / "in" / "here")
    RecordingDesk(study).keep_measurement(
        nth_id(study.folder, "recording"), [], [], {}, {"level": [1.0]}, 1
    )
    study.close()
    for name in ("victim", "victim.wav", "victim.npz"):
        (tmp_path / "in" / name).write_bytes(b"private")
    return study.folder


def tree(top):
    """Give every file outside of the study, with its content and time."""
    return {
        path: (path.read_bytes(), path.stat().st_mtime_ns)
        for path in top.rglob("*")
        if path.is_file() and "here" not in path.parts
    }


@pytest.mark.parametrize("name", OUTSIDE)
@pytest.mark.parametrize(
    "column",
    [
        "clip.code",
        "tyre_set.code",
        "recording.stored_name",
        "speed_source.stored_name",
        "measuring.arrays_name",
        "clip_source.equaliser",
    ],
)
def test_that_no_name_in_any_table_may_lead_anywhere(column, name):
    read = cell(*column.split(".")).result_processor(None, None)
    with pytest.raises(BadCellError, match=f"{column} holds"):
        read(name)


@pytest.mark.parametrize(
    ("statement", "look"),
    [
        (f"UPDATE clip SET code = ? WHERE clip_id = {nth('clip')}", restore_clips),
        ("UPDATE recording SET stored_name = ?", restore_clips),
        ("UPDATE clip_source SET equaliser = ?", restore_clips),
        (
            "UPDATE measuring SET arrays_name = ?",
            lambda study: RecordingDesk(study).arrays(nth_id(study.folder, "recording")),
        ),
        (
            "INSERT INTO speed_source (recording_id, kind, stored_name, offset_s, set_at) "
            f"VALUES ({nth('recording')}, 'file', ?, 0, '2031-07-31T09:00:00+00:00')",
            lambda study: RecordingDesk(study).speed_source(nth_id(study.folder, "recording")),
        ),
    ],
)
def test_that_a_stored_name_never_leads_out_of_the_study(folder, tmp_path, statement, look):
    patched(folder.database, statement, "../../victim")
    before = tree(tmp_path)
    for clip in folder.clips.iterdir():
        clip.unlink()
    study = open_study(folder.path)
    with pytest.raises(StudyError, match=r"is damaged\. \w+\.\w+ holds '\.\./\.\./victim'"):
        look(study)
    study.close()
    read_everything(folder.path)
    assert tree(tmp_path) == before


@pytest.mark.parametrize("part", ["lead", "recordings", "clips", "measurements", "equalisers"])
def test_that_a_folder_of_a_study_that_is_a_link_out_is_refused(folder, tmp_path, part):
    place = getattr(folder, part)
    if place.exists():
        place.rename(tmp_path / part)
    else:
        (tmp_path / part).mkdir()
    place.symlink_to(tmp_path / part)
    with pytest.raises(StudyError, match=f"{part} is a link to a place outside"):
        open_study(folder.path)


def test_that_a_file_of_a_study_that_is_a_link_out_is_not_followed(folder, tmp_path):
    clip = next(folder.clips.iterdir())
    clip.unlink()
    clip.symlink_to(tmp_path / "in" / "victim.wav")
    before = tree(tmp_path)
    study = open_study(folder.path)
    with pytest.raises(StudyError, match=r"\d+\.wav is a link to a place outside"):
        restore_clips(study)
    study.close()
    assert tree(tmp_path) == before


def test_that_a_link_to_a_whole_study_opens_like_the_study(folder, tmp_path):
    (tmp_path / "shortcut").symlink_to(folder.path)
    study = open_study(tmp_path / "shortcut")
    assert restore_clips(study) == 0
    study.close()


def test_that_a_study_file_that_is_a_link_to_another_study_is_refused(folder, tmp_path):
    other = small_study(tmp_path / "other")
    other.close()
    folder.database.unlink()
    folder.database.symlink_to(other.folder.database)
    with pytest.raises(StudyError, match=r"study\.sqlite is a link"):
        open_study(folder.path)


def test_that_the_name_of_an_original_leaves_nothing_but_a_plain_ending():
    endings = {
        ".WAV": ".wav",
        ".a b": "",
        ".w\udcff": "",
        ".x:y": "",
        ".wav_old": ".wav_old",
        "": "",
    }
    for ending, kept in endings.items():
        assert stored_name("0" * 64, Path(f"run{ending}")) == "0" * 20 + kept


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes with a name")
@pytest.mark.parametrize("part", ["lead/lead.sqlite", "study.sqlite"])
def test_that_a_study_whose_file_is_a_pipe_is_not_waited_for(folder, part):
    (folder.path / part).unlink()
    os.mkfifo(folder.path / part)
    with pytest.raises(StudyError, match=r"neither a file nor a folder|is missing"):
        open_study(folder.path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes with a name")
def test_that_a_clip_that_is_a_pipe_is_not_waited_for(folder):
    clip = next(folder.clips.glob("*.wav"))
    clip.unlink()
    os.mkfifo(clip)
    study = open_study(folder.path)
    with pytest.raises(StudyError, match="is neither a file nor a folder"):
        restore_clips(study)
    study.close()
