"""Ids rise whatever the clock says, and two copies of a study give different ones."""

import shutil

import pytest
from studies import Clock, rate_pair, raw_database, small_study

from ratings.storage import row_ids, tables
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.row_ids import new_ids
from ratings.storage.study_folder import open_study

GROWING = ("pair_event", "score", "note", "exposure")


def ids_of(folder, table):
    raw = raw_database(folder)
    found = {row[0] for row in raw.execute(f"SELECT {table}_id FROM {table}")}
    raw.close()
    return found


def listen(study, seat):
    desk = ListeningDesk(study, session_seats(study)[seat].session_id, Clock())
    for pair in desk.pairs:
        desk.record_note(pair.pair_id, "A", "rings")
        rate_pair(desk, pair)
    desk.note_exposure(3.0, None)


def test_that_copies_of_a_study_that_grow_apart_share_no_new_id(study, tmp_path):
    before = {table: ids_of(study.folder, table) for table in GROWING}
    copy = open_study(shutil.copytree(study.folder.path, tmp_path / "copy"))
    listen(study, 0)
    listen(copy, 1)
    for table in GROWING:
        here, there = (ids_of(each.folder, table) - before[table] for each in (study, copy))
        assert here
        assert there
        assert not here & there
    copy.close()


@pytest.mark.parametrize("now_ns", [0, 10**18, 4 * 10**18, 9 * 10**18])
def test_that_ids_rise_whatever_the_clock_says(study, monkeypatch, now_ns):
    with study.reading() as connection:
        sessions = max(connection.exec_driver_sql("SELECT session_id FROM session").scalars())
        monkeypatch.setattr(row_ids.time, "time_ns", lambda: now_ns)
        found = new_ids(connection, tables.session, 300)
    assert sorted(set(found)) == found
    assert sessions < found[0]
    assert found[-1] < 2**63


def test_that_a_clock_put_back_does_not_bring_back_an_earlier_score(tmp_path, monkeypatch):
    study = small_study(tmp_path)
    desk = ListeningDesk(study, session_seats(study)[0].session_id, Clock())
    rate_pair(desk, desk.pairs[0], 7.0, 6.0)
    pair = desk.pairs[1]
    desk.record_opened(pair.pair_id)
    for side in ("A", "B"):
        desk.record_heard(pair.pair_id, side)
    key = desk.attributes_of(pair)[0].key
    desk.record_scores(pair.pair_id, key, {"A": 7.0})
    monkeypatch.setattr(row_ids.time, "time_ns", lambda: 10**18)
    desk.record_scores(pair.pair_id, key, {"A": 4.0})
    assert desk.answers()[pair.pair_id].scores[key]["A"] == 4.0
    study.refuse_changed_rows()
    study.close()
