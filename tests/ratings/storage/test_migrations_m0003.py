"""An old study becomes two files in one step, and nothing that identifies stays in the first."""

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from ratings.errors import StudyError
from ratings.storage import study_folder, tables
from ratings.storage.blind_study import StudyFolder, open_blind_study
from ratings.storage.key import blindness_log
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.lead_file import NoLeadFileError
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.migrations import STEPS
from ratings.storage.seat_desk import SeatDesk
from ratings.storage.seating import keep_seats_ready
from ratings.storage.study_folder import open_study
from ratings.storage.study_overview import study_overview

OLD_STUDIES = Path(__file__).parent / "old_studies"
#: Version 2: three sets in two conditions, two pairs rated, a note, a measuring, a driven score.
SEEDS = {1: "7", 2: "1203577261"}
NAMES = (b"Maple", b"Birch", b"Larch", b".wav")


@pytest.fixture(params=[1, 2])
def version(request):
    return request.param


@pytest.fixture
def old_folder(tmp_path, version):
    raw = sqlite3.connect(tmp_path / "study.sqlite")
    raw.executescript((OLD_STUDIES / f"version_{version}.sql").read_text())
    raw.close()
    (tmp_path / "recordings").mkdir()
    (tmp_path / "recordings" / "original.wav").write_bytes(b"sound")
    return tmp_path


def rows_of(database, lead=None):
    raw = sqlite3.connect(database)
    raw.row_factory = sqlite3.Row
    if lead is not None:
        raw.execute("ATTACH DATABASE ? AS lead", (str(lead),))
    found = {}
    for (table,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall():
        found[table] = [dict(row) for row in raw.execute(f"SELECT * FROM main.{table}")]
    if lead is not None:
        query = "SELECT name FROM lead.sqlite_master WHERE type = 'table'"
        for (table,) in raw.execute(query).fetchall():
            # Each file has a ledger of its own.
            assert table not in found or table == "ledger"
            found[table] = [dict(row) for row in raw.execute(f"SELECT * FROM lead.{table}")]
    raw.close()
    return found


def is_held(old, new):
    """Tell whether every value of an old row stands in the new one of the same table."""
    return all(key not in new or new[key] == value for key, value in old.items())


def assert_same_rows(before, folder):
    after = rows_of(folder.database, folder.lead_database)
    for table, rows in before.items():
        if table == "migration":
            continue
        assert len(after[table]) == len(rows), table
        assert all(is_held(*both) for both in zip(rows, after[table], strict=True)), table


def test_that_an_old_study_comes_up_with_every_row_and_a_copy_is_kept(old_folder, version):
    before = rows_of(old_folder / "study.sqlite")
    open_study(old_folder).close()
    folder = StudyFolder(old_folder)
    assert_same_rows(before, folder)
    after = rows_of(folder.database, folder.lead_database)
    assert after["design"][0]["seed"] == str(before["study"][0]["seed"]) == SEEDS[version]
    assert [(row["session_id"], row["evaluator_id"]) for row in after["seat"]] == [
        (row["session_id"], row["evaluator_id"]) for row in before["session"]
    ]
    levels = [row["peak_full_scale"] for row in before["clip"]]
    assert [row["peak_full_scale"] for row in after["clip_source"]] == levels
    kept = rows_of(folder.lead / f"study.before-step-{version + 1}.sqlite")
    assert {table: kept[table] for table in before} == before


def test_that_nothing_that_identifies_is_left_beside_the_clips(old_folder):
    raw = sqlite3.connect(old_folder / "study.sqlite")
    # As pages look that were let go before anybody wiped them.
    raw.execute("CREATE TABLE scratch AS SELECT * FROM tyre_set, recording")
    raw.execute("DROP TABLE scratch")
    raw.commit()
    raw.close()
    copy = old_folder / "study.before-step-2.sqlite"
    copy.write_bytes((old_folder / "study.sqlite").read_bytes())
    open_study(old_folder).close()
    assert {path.name for path in old_folder.iterdir()} == {"study.sqlite", "lead"}
    content = (old_folder / "study.sqlite").read_bytes()
    assert not [name for name in NAMES if name in content]
    found = rows_of(old_folder / "study.sqlite")
    hidden = {table.name for table in tables.IDENTIFYING}
    assert not hidden & found.keys()
    assert "seed" not in found["study"][0].keys() | found["session"][0].keys()
    assert (old_folder / "lead" / "recordings" / "original.wav").read_bytes() == b"sound"
    kept = [path.name for path in (old_folder / "lead").glob(f"*{copy.name}")]
    assert sorted(kept) in ([copy.name], [f"earlier-{copy.name}", copy.name])


def test_that_an_old_study_goes_on_for_those_who_listen_and_takes_new_ones(old_folder):
    study = open_study(old_folder)
    keep_seats_ready(study, study.facts.created_at)
    assert study_overview(study).shares_clips
    assert blindness_log(study).shares_clips
    scores = LeadDesk(study).score_table()
    blind = open_blind_study(old_folder)
    before = len(session_seats(blind))
    new = SeatDesk(blind).seat("Cy")
    assert len(session_seats(blind)) == before + 1
    assert len(ListeningDesk(blind, new).pairs) == session_seats(blind)[0].pair_count
    assert LeadDesk(study).score_table().equals(scores)
    blind.close()
    study.close()


def test_that_an_old_study_is_left_to_its_lead_by_those_who_listen(old_folder):
    before = (old_folder / "study.sqlite").read_bytes()
    with pytest.raises(StudyError, match="from an older Twinset") as refusal:
        open_blind_study(old_folder)
    assert "Let its lead open it once" in refusal.value.what_to_do
    assert (old_folder / "study.sqlite").read_bytes() == before
    assert not (old_folder / "lead").exists()


def test_that_two_programs_at_once_take_the_steps_once(old_folder, monkeypatch, version):
    def as_another_program_opens_it(*wanted):
        monkeypatch.undo()
        open_study(old_folder).close()
        return make(*wanted)

    # Called once the version was read, before anything is written.
    make = study_folder.make_lead_folder
    monkeypatch.setattr(study_folder, "make_lead_folder", as_another_program_opens_it)
    open_study(old_folder).close()
    kept = rows_of(old_folder / "lead" / f"study.before-step-{version + 1}.sqlite")
    assert len(kept["migration"]) == version
    assert len(rows_of(old_folder / "study.sqlite")["migration"]) == len(STEPS)
    assert not list(old_folder.rglob("*.partial"))


def test_that_a_lead_folder_of_another_study_is_refused_and_left_alone(old_folder):
    open_study(old_folder).close()
    other = old_folder / "other"
    other.mkdir()
    kept = next((old_folder / "lead").glob("study.before-step-*"))
    (other / "study.sqlite").write_bytes(kept.read_bytes())
    (old_folder / "lead").rename(other / "lead")
    content = (other / "lead" / "lead.sqlite").read_bytes()
    with pytest.raises(StudyError, match="belongs to another study"):
        open_study(other)
    assert (other / "study.sqlite").read_bytes() == kept_bytes(other)
    assert (other / "lead" / "lead.sqlite").read_bytes() == content


def kept_bytes(folder):
    return next((folder / "lead").glob("study.before-step-*")).read_bytes()


def test_that_a_lead_file_that_was_made_with_another_study_is_refused(old_folder, tmp_path_factory):
    twin = tmp_path_factory.mktemp("twin")
    (twin / "study.sqlite").write_bytes((old_folder / "study.sqlite").read_bytes())
    for folder in (old_folder, twin):
        open_study(folder).close()
    (twin / "lead" / "lead.sqlite").replace(old_folder / "lead" / "lead.sqlite")
    with pytest.raises(StudyError, match="belongs to another study"):
        open_study(old_folder)


def test_that_a_study_without_its_lead_file_is_refused_to_the_lead_alone(old_folder):
    open_study(old_folder).close()
    shutil.rmtree(old_folder / "lead")
    with pytest.raises(NoLeadFileError, match="missing or closed to you"):
        open_study(old_folder)
    assert not (old_folder / "lead").exists()
    blind = open_blind_study(old_folder)
    assert session_seats(blind)
    blind.close()


KILLED = """
import os, signal, sys
import sqlalchemy as sa
from ratings.storage.study_folder import open_study
from ratings.storage.study_overview import study_overview
left = int(sys.argv[2])
@sa.event.listens_for(sa.Engine, "before_cursor_execute")
def count(_connection, _cursor, statement, *_rest):
    global left
    left -= 1
    if not left:
        os.kill(os.getpid(), signal.SIGKILL)
@sa.event.listens_for(sa.Engine, "commit")
def count_commits(connection):
    count(None, None, "COMMIT")
open_study(sys.argv[1])
print("whole")
"""


@pytest.mark.slow
@pytest.mark.skipif(os.name != "posix", reason="kills by signal")
@pytest.mark.parametrize("version", [2], indirect=True)
def test_that_a_kill_anywhere_in_the_step_leaves_a_study_that_opens_whole(old_folder):
    original = (old_folder / "study.sqlite").read_bytes()
    before = rows_of(old_folder / "study.sqlite")
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)}
    for statement in (5, *range(12, 1000, 29)):
        folder = StudyFolder(old_folder / f"killed-{statement}")
        folder.path.mkdir()
        folder.database.write_bytes(original)
        ended = subprocess.run(
            [sys.executable, "-c", KILLED, folder.path, str(statement)],
            env=environment,
            capture_output=True,
            text=True,
            check=False,
        )
        assert ended.returncode == -signal.SIGKILL or ended.stdout == "whole\n", ended.stderr
        open_study(folder.path).close()
        assert_same_rows(before, folder)
        content = folder.database.read_bytes()
        assert not [name for name in NAMES if name in content]
        if ended.returncode == 0:
            break
    else:
        pytest.fail("no run came to its end: there are more statements than were tried")
