"""What a seat's side can reach: which modules, and which tables."""

import sqlite3
import tomllib
from pathlib import Path

import pytest
import sqlalchemy as sa
from studies import Clock, rate_pair, small_study

from ratings.errors import StudyError
from ratings.storage import tables
from ratings.storage.blind_study import open_blind_study
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.seat_desk import SeatDesk

PROJECT = Path(__file__).resolve().parents[3]

#: What a seat's side may import of storage; all else is named by the contract.
OF_A_SEAT = {
    "blind_study",
    "cells",
    "database",
    "exposure_rows",
    "held_files",
    "listening_desk",
    "listening_rows",
    "migrations",
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
        each for each in contracts["contracts"] if each.get("source_modules") == ["app.evaluator"]
    ]
    forbidden = {name.removeprefix("ratings.storage.") for name in contract["forbidden_modules"]}
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
    desk.note_exposure(3.0, 60.0, desk.pairs[0].clip_a.clip_id)
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
