import math
import sqlite3
import time
from datetime import UTC, datetime, timedelta, timezone

import pytest
from sqlalchemy import event
from studies import Clock, small_study

from ratings.storage import tables
from ratings.storage.blind_study import open_blind_study
from ratings.storage.exposure_rows import start_of_day
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import ListeningDesk, session_seats


class SetClock:
    """A clock that stands until it is set."""

    def __init__(self, now):
        self.now = now

    def __call__(self):
        return self.now


@pytest.fixture
def berlin(monkeypatch):
    """Let this computer stand where midnight comes before that of UTC."""
    monkeypatch.setenv("TZ", "CET-1CEST,M3.5.0,M10.5.0/3")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.fixture
def study(tmp_path):
    study = small_study(tmp_path)
    yield study
    study.close()


@pytest.fixture
def clock():
    return SetClock(datetime(2031, 7, 31, 9, 0, tzinfo=UTC))


@pytest.fixture
def desks(study, clock):
    return [ListeningDesk(study, seat.session_id, clock) for seat in session_seats(study)]


def test_that_what_was_played_is_kept_for_the_one_who_heard_it(study, desks, clock):
    ada, bo = desks
    ada.note_exposure(8.0, 71.5)
    ada.note_exposure(2.5, None)
    bo.note_exposure(4.0, -math.inf)
    assert ada.exposure_today() == [(8.0, 71.5), (2.5, None)]
    assert bo.exposure_today() == [(4.0, -math.inf)]
    assert LeadDesk(study, clock).exposure_today() == {
        "E1": [(8.0, 71.5), (2.5, None)],
        "E2": [(4.0, -math.inf)],
    }
    raw = sqlite3.connect(study.folder.database)
    assert raw.execute("SELECT began_at FROM exposure ORDER BY exposure_id").fetchone() == (
        "2031-07-31T08:59:52+00:00",
    )


def test_that_the_order_is_that_of_hearing_and_since_is_an_instant(desks, clock):
    ada = desks[0]
    start = clock.now
    for seconds in range(1, 5):
        clock.now += timedelta(seconds=10.25)
        ada.note_exposure(float(seconds), 60.0 + seconds)
    assert [played.seconds for played in ada.exposure_since(start)] == [1, 2, 3, 4]
    # The third began 3 x 10.25 - 3 s after the start; the instant may come from another place.
    elsewhere = timezone(timedelta(hours=-9))
    third = start + timedelta(seconds=27.75)
    assert [p.seconds for p in ada.exposure_since(third.astimezone(elsewhere))] == [3, 4]
    after = third + timedelta(microseconds=1)
    assert [p.seconds for p in ada.exposure_since(after)] == [4]


def test_that_today_begins_at_midnight_of_this_place(desks, clock, berlin):
    ada = desks[0]
    # 21:59 UTC on 30 July is 23:59 in summer time; 22:01 UTC is the day after.
    for minute, level in ((59, 50.0), (61, 60.0)):
        clock.now = datetime(2031, 7, 30, 21, 0, tzinfo=UTC) + timedelta(minutes=minute)
        ada.note_exposure(5.0, level)
    clock.now = datetime(2031, 7, 31, 9, 0, tzinfo=UTC)
    assert ada.exposure_today() == [(5.0, 60.0)]


def test_that_midnight_is_right_on_the_day_on_which_summer_time_begins(berlin):
    # 30 March 2031: clocks go from 2:00 to 3:00, so that midnight was still in winter time.
    noon = datetime(2031, 3, 30, 10, 0, tzinfo=UTC)
    assert start_of_day(noon) == datetime(2031, 3, 29, 23, 0, tzinfo=UTC)


def test_that_exposure_reads_and_writes_the_blind_tables_only(study):
    study = open_blind_study(study.folder.path)
    asked = []

    @event.listens_for(study.engine, "before_cursor_execute")
    def keep(_connection, _cursor, statement, *_rest):
        asked.append(statement)

    desk = ListeningDesk(study, session_seats(study)[0].session_id, Clock())
    desk.note_exposure(3.0, 65.0)
    assert len(desk.exposure_today()) == 1
    hidden = {table.name for table in tables.IDENTIFYING}
    # One written and one read; the others are the chain's.
    assert sum(s.startswith("INSERT INTO exposure") for s in asked) == 1
    assert sum("FROM exposure JOIN" in s for s in asked) == 1
    assert not [s for s in asked if any(name in s.replace("evaluator", "") for name in hidden)]
    study.close()
