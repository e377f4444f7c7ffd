import csv
import sqlite3

import pytest
from studies import SETS, Clock, hear_both, raw_database, small_study, write_noise

from ratings.errors import StudyError
from ratings.storage import key, row_ids
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.recording_desk import RecordingDesk
from ratings.storage.study_folder import open_study
from ratings.storage.verdict_desk import VerdictDesk
from ratings.study.runs import ChannelSetting, NewRun
from ratings.study.score_table import write_score_table

DONE = "all sessions are finished"
COARSE = "coarse asphalt, 80 km/h"


@pytest.fixture
def study(tmp_path):
    study = small_study(tmp_path, sets=3, conditions=2)
    yield study
    study.close()


@pytest.fixture
def listening(study):
    desk = ListeningDesk(study, session_seats(study)[0].session_id, Clock())
    for pair in desk.pairs[:3]:
        hear_both(desk, pair.pair_id)
    return desk


def code_of(study, name):
    raw = raw_database(study.folder)
    (code,) = raw.execute("SELECT code FROM tyre_set WHERE name = ?", (name,)).fetchone()
    raw.close()
    return code


def write_table(path, rows, header=("evaluator", "set", "condition", "attribute", "score")):
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([header, *rows])
    return path


def acts(study):
    return [(each.who, each.why) for each in key.blindness_log(study).openings]


def marks(study):
    """By evaluator, pair, side and attribute, whether a score bears the mark."""
    table = LeadDesk(study).score_table()
    assert table["after_opening"].dtype == bool
    return {(r.evaluator, r.pair, r.side, r.attribute): r.after_opening for r in table.itertuples()}


def test_that_no_name_is_read_before_the_key_is_opened(study):
    assert key.opening(study) is None
    with pytest.raises(StudyError, match="has not been opened") as refusal:
        key.names(study)
    assert not [name for name in SETS if name in str(refusal.value)]
    with pytest.raises(StudyError, match="has not been opened"):
        LeadDesk(study).set_names()


def test_that_opening_is_one_act_with_who_when_and_why(study, tmp_path):
    clock = Clock()
    act = key.open_key(study, "  Ida   Holm ", DONE, clock)
    assert (act.who, act.why, act.opened_at) == ("Ida Holm", DONE, clock.now)
    again = open_study(study.folder.path)
    assert key.opening(again) == act
    assert key.names(again) == {code_of(study, name): name for name in SETS}
    assert list(LeadDesk(again).set_names().values()) == list(SETS)
    again.close()


@pytest.mark.parametrize(
    ("who", "why", "words"),
    [("", DONE, "Nobody is named"), (" \n", DONE, "Nobody"), ("Ida", "  ", "No reason")],
)
def test_that_nobody_opens_it_without_a_name_and_a_reason(study, who, why, words):
    with pytest.raises(StudyError, match=words) as refusal:
        key.open_key(study, who, why)
    assert "The key stays closed." in refusal.value.what_to_do
    assert key.opening(study) is None


def test_that_another_person_or_reason_is_logged_and_the_same_act_is_not(study):
    clock = Clock()
    first = key.open_key(study, "Ida", DONE, clock)
    assert key.open_key(study, "ida ", DONE.upper(), clock) == first
    second = key.open_key(study, "Bo", DONE, clock)
    third = key.open_key(study, "Ida", "the report goes out", clock)
    assert acts(study) == [("Ida", DONE), ("Bo", DONE), ("Ida", "the report goes out")]
    assert first.opened_at < second.opened_at < third.opened_at
    assert key.opening(study) == first


def test_that_a_study_that_may_only_be_read_is_not_opened_and_says_so(study, monkeypatch):
    monkeypatch.setattr("ratings.storage.study_folder.may_write_both", lambda _folder: False)
    reader = open_study(study.folder.path)
    with pytest.raises(StudyError, match="read"):
        key.open_key(reader, "Ida", DONE)
    with pytest.raises(StudyError, match="read"):
        VerdictDesk(reader).set_planned_evaluators(8)
    assert key.opening(reader) is None
    assert VerdictDesk(reader).settings().planned_evaluators is None
    reader.close()


def test_that_an_opening_is_only_ever_added_to(study):
    key.open_key(study, "Ida", DONE)
    raw = sqlite3.connect(study.folder.lead_database)
    for statement in ("UPDATE key_opening SET who = 'Bo'", "DELETE FROM key_opening"):
        with pytest.raises(sqlite3.IntegrityError, match="key_opening is append-only"):
            raw.execute(statement)
    raw.close()


def test_that_scores_given_after_the_opening_are_marked_and_no_others(study, listening):
    first, second = (pair.pair_id for pair in listening.pairs[:2])
    listening.record_scores(first, "boom", {"A": 7.0, "B": 6.0})
    assert set(marks(study).values()) == {False}
    key.open_key(study, "Ida", DONE)
    assert set(marks(study).values()) == {False}
    listening.record_scores(first, "boom", {"B": 5.0})
    listening.record_scores(second, "boom", {"A": 7.0, "B": 6.0})
    key.open_key(study, "Bo", DONE)
    assert marks(study) == {
        ("E1", 1, "A", "boom"): False,
        ("E1", 1, "B", "boom"): True,
        ("E1", 2, "A", "boom"): True,
        ("E1", 2, "B", "boom"): True,
    }


@pytest.mark.parametrize("years", [-3, 3])
def test_that_a_clock_that_is_set_between_them_hides_and_marks_nothing(
    study, listening, monkeypatch, years
):
    first, second = (pair.pair_id for pair in listening.pairs[:2])
    listening.record_scores(first, "boom", {"A": 7.0, "B": 6.0})
    key.open_key(study, "Ida", DONE, Clock())
    now_ns = row_ids.time.time_ns() + years * 365 * 86_400 * 10**9
    monkeypatch.setattr(row_ids.time, "time_ns", lambda: now_ns)
    other = Clock()
    other.now = other.now.replace(year=other.now.year + years)
    late = ListeningDesk(study, session_seats(study)[0].session_id, other)
    late.record_scores(second, "boom", {"A": 7.0})
    assert list(marks(study).values()) == [False, False, True]
    study.refuse_changed_rows()


def test_that_a_clock_that_ran_ahead_before_the_opening_marks_nothing(study):
    ahead = Clock()
    ahead.now = ahead.now.replace(year=2040)
    desk = ListeningDesk(study, session_seats(study)[0].session_id, ahead)
    hear_both(desk, desk.pairs[0].pair_id)
    desk.record_scores(desk.pairs[0].pair_id, "boom", {"A": 7.0})
    key.open_key(study, "Ida", DONE, Clock())
    assert list(marks(study).values()) == [False]


TIMES = ("evaluator", "set", "condition", "attribute", "score", "repeat", "given_at")
#: The key is opened at 2031-07-31T09:00:01 in UTC.
GIVEN = {
    "2031-07-31T08:00:00+00:00": False,
    "2031-07-31T10:00:00+02:00": False,
    "2031-07-31T11:30:00+02:00": True,
    "2031-07-31T09:00:01+00:00": True,
    "2032-01-01T09:00:00Z": True,
    # Somewhere on earth, at an hour that nobody knows.
    "2031-07-30T20:59:00": False,
    "2031-07-31T08:00:00": True,
    "2031-07-29": False,
    "2031-07-30": True,
    "last Tuesday": True,
    "9999-12-31": True,
    "": True,
}


def driven(path, moments):
    rows = [
        ("D1", "Maple", COARSE, "boom", 7, number, moment)
        for number, moment in enumerate(moments, start=1)
    ]
    return write_table(path, rows, TIMES)


def test_that_imported_scores_are_marked_unless_they_were_surely_given_before(study, tmp_path):
    desk = LeadDesk(study, Clock())
    key.open_key(study, "Ida", DONE, Clock())
    desk.bring_scores(driven(tmp_path / "late.csv", GIVEN))
    table = desk.score_table().sort_values("repeat")
    assert table["after_opening"].tolist() == list(GIVEN.values())
    (later,) = key.blindness_log(study).later_scores
    assert (later.evaluator, later.imported, later.new) == ("D1", sum(GIVEN.values()), 0)


def test_that_what_was_imported_before_the_opening_is_never_marked(study, tmp_path):
    desk = LeadDesk(study)
    desk.bring_scores(driven(tmp_path / "early.csv", GIVEN))
    key.open_key(study, "Ida", DONE, Clock())
    assert not desk.score_table()["after_opening"].any()
    assert key.blindness_log(study).later_scores == ()


def test_that_an_imported_time_behind_a_clock_that_was_put_back_is_doubted(study, tmp_path):
    late = Clock()
    late.now = late.now.replace(year=2033)
    key.open_key(study, "Ida", DONE, late)
    listening = ListeningDesk(study, session_seats(study)[0].session_id, Clock())
    hear_both(listening, listening.pairs[0].pair_id)
    listening.record_scores(listening.pairs[0].pair_id, "boom", {"A": 7.0})
    moments = ["2032-01-01T00:00:00Z", "2031-07-31T08:00:00Z"]
    LeadDesk(study, Clock()).bring_scores(driven(tmp_path / "a.csv", moments))
    table = LeadDesk(study).score_table().query("evaluator == 'D1'").sort_values("repeat")
    assert table["after_opening"].tolist() == [True, False]


def test_that_a_clock_that_was_put_forward_for_the_opening_hides_no_import(study, tmp_path):
    ahead = Clock()
    ahead.now = ahead.now.replace(year=2099)
    key.open_key(study, "Ida", DONE, ahead)
    after_import = ["2040-01-01T00:00:00Z"]
    LeadDesk(study, Clock()).bring_scores(driven(tmp_path / "a.csv", after_import))
    table = LeadDesk(study).score_table().query("evaluator == 'D1'")
    assert table["after_opening"].tolist() == [True]


def test_that_what_each_evaluator_did_after_the_opening_is_counted(study, listening):
    first, second, third = (pair.pair_id for pair in listening.pairs[:3])
    for pair_id in (first, second):
        listening.record_scores(pair_id, "boom", {"A": 7.0, "B": 6.0})
    key.open_key(study, "Ida", DONE)
    assert key.blindness_log(study).later_scores == ()
    listening.record_scores(first, "boom", {"A": 5.0, "B": 5.0})
    listening.record_scores(first, "boom", {"B": 5.5})
    listening.record_scores(second, "boom", {"B": None})
    listening.record_scores(third, "boom", {"A": 4.0, "B": 4.0})
    listening.record_scores(third, "boom", {"B": None})
    assert key.blindness_log(study).later_scores == (
        key.LaterScores("E1", new=1, changed=2, withdrawn=1),
    )


def test_that_imports_by_name_are_told_from_imports_by_code(study, tmp_path):
    desk = LeadDesk(study, Clock())
    rows = [("D1", "Maple", COARSE, "boom", 7), ("D1", "Birch", COARSE, "boom", 7)]
    desk.bring_scores(write_table(tmp_path / "names.csv", rows))
    code = code_of(study, "Larch")
    desk.bring_scores(write_table(tmp_path / "codes.csv", [("D1", code, COARSE, "boom", 7)]))
    mixed = [("D2", code, COARSE, "boom", 7), ("D2", "Maple", COARSE, "boom", 7)]
    desk.bring_scores(write_table(tmp_path / "mixed.csv", mixed))
    found = key.blindness_log(study).imports
    assert [(each.file_name, each.scores, each.sets_by_name) for each in found] == [
        ("names.csv", 2, True),
        ("codes.csv", 1, False),
        ("mixed.csv", 2, True),
    ]
    assert [each.imported_at for each in found] == sorted(each.imported_at for each in found)


def test_that_runs_brought_in_later_under_a_name_are_told(study, tmp_path):
    assert key.blindness_log(study).runs_added == ()
    assert not key.blindness_log(study).shares_clips
    clock = Clock()
    for number in (1, 2):
        path = write_noise(tmp_path / f"later {number}.wav", 90 + number)
        ears = (ChannelSetting("driver left ear"), ChannelSetting("driver right ear"))
        RecordingDesk(study, clock).bring_run(NewRun(path, 2, 1, ears))
    added = key.blindness_log(study).runs_added
    assert len(added) == 2
    assert added[0] < added[1] <= clock.now


def test_that_a_mark_of_a_sibling_study_stays_with_its_score(study, listening, tmp_path):
    first, second = (pair.pair_id for pair in listening.pairs[:2])
    listening.record_scores(first, "boom", {"A": 7.0, "B": 6.0})
    key.open_key(study, "Ida", DONE)
    listening.record_scores(second, "boom", {"A": 7.0})
    write_score_table(LeadDesk(study).score_table(), tmp_path / "scores.csv")
    other = small_study(tmp_path / "other", sets=3, conditions=2)
    LeadDesk(other).bring_scores(tmp_path / "scores.csv")
    # Its own key is closed, but whoever gave that score may have known the names.
    table = LeadDesk(other).score_table()
    assert sorted(table["after_opening"].tolist()) == [False, False, True]
    assert key.blindness_log(other).later_scores == (key.LaterScores("E1", imported=1),)
    other.close()
