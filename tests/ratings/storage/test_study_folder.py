import shutil
import sqlite3

import pytest
from studies import rate_pair, small_study

from ratings.errors import StudyError
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.mending import missing_clips, restore_clips
from ratings.storage.study_folder import open_study


@pytest.fixture
def folder(tmp_path):
    study = small_study(tmp_path)
    study.close()
    return study.folder


def test_that_a_moved_study_opens_with_all_its_clips(folder, tmp_path):
    moved = tmp_path / "another place" / "übertragen #1"
    moved.parent.mkdir()
    shutil.move(folder.path, moved)
    study = open_study(moved)
    assert missing_clips(study) == ()
    assert session_seats(study)[0].pair_count == 3


def test_that_a_folder_that_is_gone_is_told_by_name(tmp_path):
    with pytest.raises(StudyError, match="no study folder gone"):
        open_study(tmp_path / "gone")


def test_that_a_folder_without_a_study_is_told(tmp_path):
    with pytest.raises(StudyError, match=r"study\.sqlite is missing"):
        open_study(tmp_path)


@pytest.mark.parametrize("content", [b"", b"not a database, just text " * 50])
def test_that_a_file_that_is_no_study_is_refused_and_left_alone(tmp_path, content):
    (tmp_path / "study.sqlite").write_bytes(content)
    with pytest.raises(StudyError, match="is not a study"):
        open_study(tmp_path)
    assert (tmp_path / "study.sqlite").read_bytes() == content


def test_that_a_damaged_study_is_told_and_left_alone(folder):
    data = bytearray(folder.database.read_bytes())
    data[100:4000] = b"\xff" * 3900
    folder.database.write_bytes(data)
    with pytest.raises(StudyError, match="damaged"):
        open_study(folder.path)
    assert folder.database.read_bytes() == bytes(data)


def test_that_a_study_of_a_newer_program_is_refused_and_not_changed(folder):
    raw = sqlite3.connect(folder.database)
    raw.execute("INSERT INTO migration VALUES (99, '2040-01-01')")
    raw.commit()
    raw.close()
    before = folder.database.read_bytes()
    with pytest.raises(StudyError, match=r"newer Twinset \(study format 99"):
        open_study(folder.path)
    assert folder.database.read_bytes() == before


def test_that_a_clip_that_is_missing_is_cut_again_from_its_recording(folder):
    clip = next(folder.clips.iterdir())
    before = clip.read_bytes()
    clip.unlink()
    study = open_study(folder.path)
    assert [c.code for c in missing_clips(study)] == [clip.stem]
    assert restore_clips(study) == 1
    assert clip.read_bytes() == before


def test_that_a_study_without_clips_and_recordings_says_so_and_keeps_its_scores(folder):
    study = open_study(folder.path)
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    rate_pair(desk, desk.pairs[0])
    shutil.rmtree(folder.clips)
    shutil.rmtree(folder.recordings)
    with pytest.raises(StudyError, match=r"misses clip \d{6} and the recording"):
        restore_clips(study)
    assert desk.answers()[desk.pairs[0].pair_id].is_locked


def test_that_an_exchanged_recording_is_noticed_when_a_clip_is_cut_again(folder):
    clip = next(folder.clips.iterdir())
    first, second = sorted(folder.recordings.iterdir())
    first_bytes = first.read_bytes()
    first.write_bytes(second.read_bytes())
    second.write_bytes(first_bytes)
    clip.unlink()
    with pytest.raises(StudyError, match="not the one that was heard before"):
        restore_clips(open_study(folder.path))
    assert not clip.exists()


def test_that_a_study_that_may_only_be_read_opens_and_says_so_on_writing(folder, monkeypatch):
    # The tests may run with rights that no file mode takes away, so the question is answered here.
    monkeypatch.setattr("ratings.storage.study_folder.os.access", lambda *_: False)
    study = open_study(folder.path)
    assert study.is_read_only
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    with pytest.raises(StudyError, match="can be read but not written"):
        desk.record_heard(desk.pairs[0].pair_id, "A")


def test_that_a_study_another_program_holds_is_told(folder):
    study = open_study(folder.path)
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    with study.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA busy_timeout = 50")
    holder = sqlite3.connect(folder.database)
    holder.execute("BEGIN EXCLUSIVE")
    with pytest.raises(StudyError, match="Another program holds the study"):
        desk.record_heard(desk.pairs[0].pair_id, "A")
    holder.rollback()
    desk.record_heard(desk.pairs[0].pair_id, "A")
    assert desk.answers()[desk.pairs[0].pair_id].heard == {"A"}
