"""A journal that came with a study: it must not let SQLite delete what is not the study's."""

import os
import sqlite3

import pytest
from studies import small_study

from ratings.errors import StudyError
from ratings.storage.blind_study import open_blind_study
from ratings.storage.study_folder import open_study

MAGIC = b"\xd9\xd5\x05\xf9\x20\xa1\x63\xd7"


@pytest.fixture
def folder(tmp_path):
    study = small_study(tmp_path / "study")
    study.close()
    return study.folder.path


def leave_journal(database, named):
    """Leave what looks like the journal of a commit to two files, cut off before its end."""
    raw = sqlite3.connect(database)
    pages = raw.execute("PRAGMA page_count").fetchone()[0]
    page_bytes = raw.execute("PRAGMA page_size").fetchone()[0]
    raw.close()
    numbers = (0, 0, pages, 512, page_bytes)
    head = MAGIC + b"".join(number.to_bytes(4, "big") for number in numbers)
    name = os.fsencode(named)
    tail = (0x40000000 // page_bytes + 1).to_bytes(4, "big") + name
    tail += len(name).to_bytes(4, "big") + (sum(name) & 0xFFFFFFFF).to_bytes(4, "big") + MAGIC
    database.with_name(f"{database.name}-journal").write_bytes(head.ljust(512, b"\0") + tail)


@pytest.mark.parametrize("name", ["letter.odt", "study.sqlite-mj0A1B2C3D4", ""])
@pytest.mark.parametrize(
    ("database", "opening"),
    [
        ("study.sqlite", open_blind_study),
        ("study.sqlite", open_study),
        ("lead/lead.sqlite", open_study),
    ],
)
def test_that_a_journal_deletes_no_file_of_a_person(folder, tmp_path, database, opening, name):
    victim = tmp_path / "home" / (name or "x")
    victim.parent.mkdir()
    victim.write_text("years of work")
    leave_journal(folder / database, victim if name else "")
    with pytest.raises(StudyError, match="names a file outside of the study"):
        opening(folder)
    assert victim.read_text() == "years of work"


def test_that_the_study_s_own_super_journal_is_obeyed(folder):
    own = folder / "study.sqlite-mj0A1B2C3D4"
    leave_journal(folder / "study.sqlite", own)
    open_blind_study(folder).close()
    assert not (folder / "study.sqlite-journal").exists()


def test_that_a_journal_that_is_no_ordinary_file_is_refused(folder):
    (folder / "study.sqlite-journal").symlink_to(folder / "elsewhere")
    with pytest.raises(StudyError, match="A journal beside it cannot be read"):
        open_blind_study(folder)


def test_that_a_study_that_was_moved_after_a_kill_opens(folder, tmp_path):
    leave_journal(folder / "study.sqlite", tmp_path / "before" / "study.sqlite-mj0A1B2C3D4")
    open_study(folder).close()
    assert not (folder / "study.sqlite-journal").exists()
