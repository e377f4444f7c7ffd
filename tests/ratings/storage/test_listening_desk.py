import shutil
import sqlite3
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import pytest
from studies import Clock, hear_both, rate_pair, raw_database, small_study

from ratings.errors import StudyError
from ratings.storage.blind_study import open_blind_study
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.study_folder import open_study


@pytest.fixture
def study(tmp_path):
    study = small_study(tmp_path, sets=3, conditions=2)
    yield study
    study.close()


@pytest.fixture
def desk(study):
    return ListeningDesk(study, session_seats(study)[0].session_id, Clock())


def test_that_the_latest_score_counts_and_the_earlier_ones_stay_on_the_disk(study, desk):
    pair_id = desk.pairs[0].pair_id
    hear_both(desk, pair_id)
    desk.record_scores(pair_id, "boom", {"A": 7.0})
    desk.record_scores(pair_id, "boom", {"A": 7.25})
    assert desk.answers()[pair_id].scores == {"boom": {"A": 7.25}}
    rows = sqlite3.connect(study.folder.database).execute("SELECT value FROM score").fetchall()
    assert rows == [(7.0,), (7.25,)]


def test_that_a_score_can_be_taken_back(desk):
    pair_id = desk.pairs[0].pair_id
    hear_both(desk, pair_id)
    desk.record_scores(pair_id, "boom", {"A": 7.0, "B": 6.0})
    desk.record_scores(pair_id, "boom", {"B": None})
    assert desk.answers()[pair_id].scores == {"boom": {"A": 7.0}}


def test_that_no_score_is_taken_before_both_sides_were_heard(desk):
    pair_id = desk.pairs[0].pair_id
    desk.record_heard(pair_id, "A")
    with pytest.raises(StudyError, match="Side B has not been heard"):
        desk.record_scores(pair_id, "boom", {"A": 7.0})
    assert desk.answers()[pair_id].scores == {}


@pytest.mark.parametrize("value", [0.75, 10.25, 7.1, float("nan")])
def test_that_a_score_off_the_scale_is_refused(desk, value):
    pair_id = desk.pairs[0].pair_id
    hear_both(desk, pair_id)
    with pytest.raises(StudyError, match="not a step of the scale"):
        desk.record_scores(pair_id, "boom", {"A": value})


def test_that_a_pair_with_a_missing_score_is_not_locked(desk):
    pair_id = desk.pairs[0].pair_id
    hear_both(desk, pair_id)
    desk.record_scores(pair_id, "boom", {"A": 7.0, "B": 7.0}, said_equal=True)
    with pytest.raises(StudyError, match="Rumble has no score for side A"):
        desk.lock(pair_id)
    assert desk.answers()[pair_id].said_equal == {"boom"}


def test_that_a_locked_pair_takes_no_more_scores_or_notes(desk):
    pair = desk.pairs[0]
    rate_pair(desk, pair)
    with pytest.raises(StudyError, match="closed"):
        desk.record_scores(pair.pair_id, "boom", {"A": 1.0})
    with pytest.raises(StudyError, match="closed"):
        desk.record_note(pair.pair_id, "A", "late thought")
    assert desk.answers()[pair.pair_id].scores["boom"] == {"A": 7.0, "B": 6.0}


def test_that_a_pair_of_another_session_is_refused(study, desk):
    other = ListeningDesk(study, session_seats(study)[1].session_id)
    with pytest.raises(StudyError, match="another session"):
        desk.record_heard(other.pairs[0].pair_id, "A")


@pytest.mark.parametrize("table", ["score", "note", "pair_event", "pair", "session", "pair_role"])
@pytest.mark.parametrize("act", ["UPDATE {0} SET pair_id = 1", "DELETE FROM {0}"])
def test_that_the_database_itself_refuses_to_change_what_was_given(study, desk, table, act):
    pair = desk.pairs[0]
    rate_pair(desk, pair)
    raw = raw_database(study.folder)
    raw.execute("INSERT INTO note VALUES (1, 1, 'A', 'humming', '2031-07-31')")
    act = act.replace("pair_id", "session_id") if table == "session" else act
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        raw.execute(act.format(table))


def test_that_a_reopened_session_stands_where_it_was_left(study, desk):
    first, second = desk.pairs[:2]
    rate_pair(desk, first)
    hear_both(desk, second.pair_id)
    desk.record_scores(second.pair_id, "rumble", {"B": 4.5})
    desk.record_note(second.pair_id, "B", "howls")
    study.close()
    again = open_study(study.folder.path)
    answers = ListeningDesk(again, desk.session_id).answers()
    assert answers[first.pair_id].is_locked
    assert answers[second.pair_id].scores == {"rumble": {"B": 4.5}}
    assert answers[second.pair_id].notes == {"B": "howls"}
    assert answers[second.pair_id].heard == {"A", "B"}
    assert not answers[second.pair_id].is_locked
    assert [(s.locked_count, s.pair_count) for s in session_seats(again)] == [(1, 6), (0, 6)]
    again.close()


KILLED_AT_ONCE = """
import os, signal, sys
from ratings.storage.blind_study import open_blind_study
from ratings.storage.listening_desk import ListeningDesk
from ratings.storage.study_folder import open_study
desk = ListeningDesk(open_study(sys.argv[1]), int(sys.argv[2]))
pair = desk.pairs[0].pair_id
desk.record_heard(pair, "A"); desk.record_heard(pair, "B")
for step in range(20):
    desk.record_scores(pair, "boom", {"A": 1 + step / 4})
    print(1 + step / 4, flush=True)
os.kill(os.getpid(), signal.SIGKILL)
"""


@pytest.mark.slow
def test_that_a_killed_program_has_lost_no_score_that_it_said_was_kept(study, desk):
    killed = subprocess.run(
        [sys.executable, "-c", KILLED_AT_ONCE, study.folder.path, str(desk.session_id)],
        capture_output=True,
        text=True,
        check=False,
    )
    said = [float(line) for line in killed.stdout.split()]
    assert said == [1 + step / 4 for step in range(20)]
    assert desk.answers()[desk.pairs[0].pair_id].scores["boom"]["A"] == said[-1]


def test_that_a_full_disk_is_told_and_earlier_scores_stay(study, desk):
    pair_id = desk.pairs[0].pair_id
    hear_both(desk, pair_id)
    desk.record_scores(pair_id, "boom", {"A": 7.0})
    with study.engine.connect() as connection:
        # SQLite's own limit answers as a full disk does.
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
        connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")
    with pytest.raises(StudyError, match="is full, so the last entry was not saved"):
        desk.record_note(pair_id, "A", "a very long note " * 100_000)
    assert desk.answers()[pair_id].scores == {"boom": {"A": 7.0}}


def test_that_the_time_left_follows_the_pace_of_the_session(study):
    desk = ListeningDesk(study, session_seats(study)[0].session_id, Clock(step_s=10.0))
    before = desk.seconds_left()
    for pair in desk.pairs[:3]:
        rate_pair(desk, pair)
    # Opened, heard A, heard B, two attributes, locked: five steps of ten seconds; three pairs left
    # of six, and the expectation weighs as much as the three that were rated.
    assert desk.seconds_left() == 3 * (50.0 + before / 6) / 2


def test_that_an_idle_evaluator_is_not_taken_for_a_slow_one(study):
    desk = ListeningDesk(study, session_seats(study)[0].session_id, Clock(step_s=3600.0))
    for pair in desk.pairs[:3]:
        rate_pair(desk, pair)
    # Five hours for each pair count as the 15 minutes that a pair may take; the expectation, four
    # hearings of the 2.5 s clips and ten seconds for each of two attributes, weighs as much.
    assert desk.seconds_left() == pytest.approx(3 * (15 * 60 + 30) / 2)


def test_that_a_clock_that_is_put_back_makes_no_time_negative(study):
    clock = Clock(step_s=-600.0)
    desk = ListeningDesk(study, session_seats(study)[0].session_id, clock)
    before = desk.seconds_left()
    for pair in desk.pairs[:2]:
        rate_pair(desk, pair)
    assert desk.seconds_left() == pytest.approx(before * 4 / 6)
    clock.step = -clock.step
    for pair in desk.pairs[2:]:
        rate_pair(desk, pair)
    assert desk.seconds_left() == 0.0


@pytest.fixture
def resting(study, monkeypatch):
    """A desk whose evaluator has just closed the last pair before a break."""
    monkeypatch.setattr("ratings.storage.listening_desk.break_positions", lambda *_: (2,))
    desk = ListeningDesk(study, session_seats(study)[0].session_id, Clock())
    assert not desk.break_is_due(desk.answers())
    for pair in desk.pairs[:2]:
        assert not desk.break_is_due(desk.answers())
        rate_pair(desk, pair)
    return desk


def test_that_a_break_is_due_until_somebody_ends_it(study, resting):
    assert resting.break_is_due(resting.answers())
    # Coming to the next pair by itself, such as in another window, does not end it.
    resting.record_opened(resting.pairs[2].pair_id)
    again = ListeningDesk(study, resting.session_id, resting._clock)
    assert again.break_is_due(again.answers())
    again.record_rested(again.pairs[2].pair_id)
    assert not again.break_is_due(again.answers())
    assert not resting.break_is_due(resting.answers())


@pytest.mark.parametrize(("minutes", "is_due"), [(4.9, True), (5.1, False), (-60, False)])
def test_that_whoever_comes_back_later_has_rested(resting, minutes, is_due):
    resting._clock.now += timedelta(minutes=minutes)
    assert resting.break_is_due(resting.answers()) == is_due


def test_that_no_break_is_due_behind_the_last_pair(resting):
    for pair in resting.pairs[2:]:
        rate_pair(resting, pair)
        assert not resting.break_is_due(resting.answers())


def test_that_evenness_is_asked_for_in_coast_downs_only(tmp_path):
    from ratings.study.attributes import DEFAULT_ATTRIBUTES

    study = small_study(tmp_path, conditions=2, attributes=DEFAULT_ATTRIBUTES)
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    asked = {
        pair.manoeuvre: "evenness" in {a.key for a in desk.attributes_of(pair)}
        for pair in desk.pairs
    }
    assert asked == {"steady": False, "coast-down": True}


def test_that_nothing_the_evaluators_side_reads_or_sees_names_a_set_or_a_file(study, desk):
    rate_pair(desk, desk.pairs[0])
    seen = repr((desk.pairs, desk.attributes, desk.answers(), desk.evaluator, desk.breaks))
    seen += repr([path.name for path in study.folder.clips.iterdir()])
    seen += repr([path.name for path in study.folder.recordings.iterdir()])
    clips = b"".join(path.read_bytes() for path in study.folder.clips.iterdir())
    for name in ("Maple", "Birch", "Larch"):
        assert name not in seen
        assert name.encode() not in clips


def test_that_the_evaluators_side_reads_none_of_the_identifying_tables(study, desk):
    from sqlalchemy import event

    from ratings.storage import tables

    study = open_blind_study(study.folder.path)
    asked = []

    @event.listens_for(study.engine, "before_cursor_execute")
    def keep(_connection, _cursor, statement, *_rest):
        asked.append(statement)

    again = ListeningDesk(study, desk.session_id)
    rate_pair(again, again.pairs[0])
    again.record_note(again.pairs[1].pair_id, "A", "rings")
    again.seconds_left()
    session_seats(study)
    assert len(asked) > 20
    hidden = {table.name for table in tables.IDENTIFYING}
    assert not [s for s in asked if any(name in s.replace("evaluator", "") for name in hidden)]
    study.close()


@pytest.mark.slow
def test_that_clip_ids_and_codes_do_not_follow_the_order_of_the_sets(tmp_path):
    # Over many studies the first of the control's clips, half of all, comes first or later.
    places = []
    for seed in range(12):
        study = small_study(tmp_path / str(seed), sets=3, seed=seed)
        raw = raw_database(study.folder)
        ids = [
            row[0]
            for row in raw.execute(
                "SELECT set_id FROM clip_source JOIN recording USING (recording_id) "
                "ORDER BY clip_id"
            )
        ]
        places.append(ids.index(1))
        study.close()
        shutil.rmtree(Path(tmp_path / str(seed)))
    assert {0, 1} <= set(places)
