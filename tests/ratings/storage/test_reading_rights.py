"""What a seat's side can reach: which modules, and which tables."""

import os
import random
import sqlite3
import subprocess
import sys
import threading
import tomllib
from pathlib import Path

import pytest
import sqlalchemy as sa
from studies import Clock, rate_pair, raw_database, small_study

from ratings.errors import StudyError
from ratings.storage import tables
from ratings.storage.blind_study import open_blind_study
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.seat_desk import SeatDesk
from ratings.storage.study_folder import open_study

PROJECT = Path(__file__).resolve().parents[3]

#: What a seat's side may import of storage; all else is named by the contract.
OF_A_SEAT = {
    "blind_study",
    "cells",
    "database",
    "dose_ledger",
    "exposure_rows",
    "held_files",
    "ledger",
    "listening_desk",
    "listening_rows",
    "migrations",
    "patience",
    "progress",
    "row_ids",
    "seat_desk",
    "seat_leases",
    "soundness",
    "tables",
}


@pytest.fixture
def blind(tmp_path):
    small_study(tmp_path, sets=3, conditions=2).close()
    study = open_blind_study(tmp_path / "study")
    yield study
    study.close()


def test_that_every_module_of_storage_is_a_seat_s_or_forbidden_to_it():
    contracts = tomllib.loads((PROJECT / "pyproject.toml").read_text())["tool"]["importlinter"]
    (contract,) = [
        each
        for each in contracts["contracts"]
        if each.get("source_modules") == ["app.evaluator", "app.listening"]
    ]
    room = "ratings.storage."
    names = [name for name in contract["forbidden_modules"] if name.startswith(room)]
    forbidden = {name.removeprefix(room) for name in names}
    storage = PROJECT / "ratings" / "storage"
    found = {path.stem for path in storage.iterdir() if not path.name.startswith("__")}
    assert forbidden == found - OF_A_SEAT
    assert not contract.get("allow_indirect_imports", False)


def test_that_a_seat_asks_for_nothing_but_blind_tables(blind):
    asked = []

    @sa.event.listens_for(blind.engine, "before_cursor_execute")
    def keep(_connection, _cursor, statement, *_rest):
        asked.append(statement)

    seats = SeatDesk(blind, Clock())
    seats.exposure_today()
    seats.give_back(seats.seat("Cy"))
    desk = ListeningDesk(blind, session_seats(blind)[0].session_id, Clock())
    rate_pair(desk, desk.pairs[0])
    desk.record_note(desk.pairs[1].pair_id, "A", "rings")
    desk.note_exposure(3.0, 60.0)
    desk.seconds_left()
    desk.exposure_today()
    assert len(asked) > 20
    hidden = {table.name for table in tables.IDENTIFYING}
    assert not [s for s in asked if any(f"{name}." in s or f" {name} " in s for name in hidden)]
    assert not [s for s in asked if "lead" in s]


def test_that_a_seat_cannot_read_what_identifies_even_if_it_asks(blind):
    for table in tables.IDENTIFYING:
        with pytest.raises(sa.exc.OperationalError, match="no such table"), blind.reading() as db:
            db.execute(sa.select(table))
    raw = sqlite3.connect(blind.folder.database)
    found = {name for (name,) in raw.execute("SELECT name FROM sqlite_master")}
    raw.close()
    assert not found & {table.name for table in tables.IDENTIFYING}


def test_that_a_seat_may_be_left_until_somebody_begins_on_it(blind):
    seats = SeatDesk(blind)
    taken = seats.seat("Cy")
    seats.give_back(taken)
    assert [seat.evaluator.name for seat in session_seats(blind)] == ["Ada", "Bo"]
    # The session lies ready for the next.
    assert seats.seat("Di") == taken
    desk = ListeningDesk(blind, taken)
    desk.record_opened(desk.pairs[0].pair_id)
    with pytest.raises(StudyError, match="Somebody has begun"):
        seats.give_back(taken)
    raw = sqlite3.connect(blind.folder.database)
    with pytest.raises(sqlite3.IntegrityError, match="has begun"):
        raw.execute("DELETE FROM seat")
    raw.close()


def test_that_a_new_study_is_closed_to_other_accounts_on_the_lead_s_side(tmp_path):
    study = small_study(tmp_path)
    study.close()
    assert study.folder.lead.stat().st_mode & 0o077 == 0


PREPARES_FOR_EVER = """
import sys
from studies import Clock
from ratings.storage import seating
from ratings.storage.study_folder import open_study
study = open_study(sys.argv[1])
clock = Clock()
for number in range(500):
    # Pairs go into one file and their roles into the other.
    with study.writing() as connection:
        seating._prepare_session(connection, clock())
    print(number, flush=True)
"""


@pytest.mark.slow
@pytest.mark.skipif(os.name != "posix", reason="kills by signal")
def test_that_a_kill_while_both_files_are_written_leaves_both_or_neither(tmp_path):
    study = small_study(tmp_path, sets=3, conditions=2)
    study.close()
    rng = random.Random(3)
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)}
    said = 0
    for _ in range(12):
        with subprocess.Popen(
            [sys.executable, "-c", PREPARES_FOR_EVER, study.folder.path],
            env=environment,
            stdout=subprocess.PIPE,
            text=True,
        ) as writer:
            for _ in range(rng.randrange(1, 6)):
                said += bool(writer.stdout.readline())
            # Somewhere within the next writing.
            threading.Event().wait(rng.uniform(0.0, 0.03))
            writer.kill()
            said += len(writer.stdout.read().split())
        again = open_study(study.folder.path)
        again.refuse_changed_rows()
        again.close()
        raw = raw_database(study.folder)
        pairs = raw.execute("SELECT pair_id FROM pair ORDER BY pair_id").fetchall()
        roles = raw.execute("SELECT pair_id FROM pair_role ORDER BY pair_id").fetchall()
        (sessions,) = raw.execute("SELECT COUNT(*) FROM session").fetchone()
        raw.close()
        assert pairs == roles
        assert len(pairs) == 6 * sessions
        # Nothing that was said to be kept is lost.
        assert sessions >= 10 + said
