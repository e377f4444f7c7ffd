import shutil
import sqlite3

import pytest
from studies import small_study

from ratings.errors import StudyError
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.mending import missing_clips
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


FOREIGN = "CREATE TABLE migration (number{}, applied_at TEXT)"


@pytest.mark.parametrize(
    "statements",
    [
        ["CREATE TABLE migration (version TEXT)"],
        [FOREIGN.format(""), "INSERT INTO migration VALUES ('0001_initial', '')"],
        [FOREIGN.format(""), "INSERT INTO migration VALUES (1, '')"],
    ],
)
def test_that_a_database_of_another_program_is_no_study(tmp_path, statements):
    with sqlite3.connect(tmp_path / "study.sqlite") as raw:
        for statement in statements:
            raw.execute(statement)
    raw.close()
    before = (tmp_path / "study.sqlite").read_bytes()
    with pytest.raises(StudyError, match=r"study\.sqlite in .* is not a study of this program"):
        open_study(tmp_path)
    assert (tmp_path / "study.sqlite").read_bytes() == before


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        ("INSERT INTO study SELECT * FROM study", "is not a study of this program"),
        ("UPDATE study SET created_at = 'last week'", "study.created_at holds 'last week'"),
        ("UPDATE study SET scale_step = 'many'", "study.scale_step holds 'many'"),
        ("UPDATE study SET scale_low = 'none'", "study.scale_low holds 'none'"),
    ],
)
def test_that_a_patched_cover_is_told(folder, statement, words):
    with sqlite3.connect(folder.database) as raw:
        raw.execute(statement)
    raw.close()
    with pytest.raises(StudyError, match=words):
        open_study(folder.path)


def copy_of_an_interrupted_study(folder, target):
    """Copy a study in the middle of a long entry, as a power failure would leave it."""
    writer = sqlite3.connect(folder.database, isolation_level=None)
    writer.execute("PRAGMA cache_size = 1")
    writer.execute("BEGIN IMMEDIATE")
    for number in range(200):
        writer.execute(
            "INSERT INTO note (pair_id, side, text, given_at) VALUES (1, 'A', ?, '2031-07-31')",
            (f"{number} " * 400,),
        )
    shutil.copytree(folder.path, target)
    writer.execute("ROLLBACK")
    writer.close()
    assert (target / "study.sqlite-journal").stat().st_size > 0


def test_that_an_interrupted_study_that_may_only_be_read_says_so(folder, tmp_path, monkeypatch):
    copy_of_an_interrupted_study(folder, tmp_path / "copy")
    with monkeypatch.context() as patch:
        # The tests may run with rights that no file mode takes away: the answer is given here.
        patch.setattr("ratings.storage.blind_study.os.access", lambda *_: False)
        with pytest.raises(StudyError, match="was interrupted while writing") as refusal:
            open_study(tmp_path / "copy")
    assert refusal.value.what_to_do == (
        "Copy the folder to a place where you may write, and open the copy."
    )
    # Where it may be written it opens, without the half entry.
    study = open_study(tmp_path / "copy")
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    assert {len(answers.notes) for answers in desk.answers().values()} == {0}
    study.close()


def test_that_a_study_of_a_newer_program_is_refused_and_not_changed(folder):
    raw = sqlite3.connect(folder.database)
    raw.execute("INSERT INTO migration VALUES (99, '2040-01-01')")
    raw.commit()
    raw.close()
    before = folder.database.read_bytes()
    with pytest.raises(StudyError, match=r"newer Twinset \(study format 99"):
        open_study(folder.path)
    assert folder.database.read_bytes() == before


def test_that_a_study_that_may_only_be_read_opens_and_says_so_on_writing(folder, monkeypatch):
    # The tests may run with rights that no file mode takes away, so the question is answered here.
    monkeypatch.setattr("ratings.storage.blind_study.os.access", lambda *_: False)
    study = open_study(folder.path)
    assert study.is_read_only
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    with pytest.raises(StudyError, match="can be read but not written"):
        desk.record_heard(desk.pairs[0].pair_id, "A")


def test_that_a_study_another_program_holds_is_told(folder, monkeypatch):
    study = open_study(folder.path)
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    monkeypatch.setattr("ratings.storage.patience.LONGEST_WAIT_S", 0.05)
    holder = sqlite3.connect(folder.database)
    holder.execute("BEGIN EXCLUSIVE")
    with pytest.raises(StudyError, match="Another program holds the study"):
        desk.record_heard(desk.pairs[0].pair_id, "A")
    holder.rollback()
    desk.record_heard(desk.pairs[0].pair_id, "A")
    assert desk.answers()[desk.pairs[0].pair_id].heard == {"A"}
