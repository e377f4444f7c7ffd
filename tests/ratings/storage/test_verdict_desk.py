import sqlite3

import pytest
import sqlalchemy as sa
from studies import Clock, rate_pair, raw_database, small_study
from study_damage import patched

from ratings.errors import RatingsError, StudyError
from ratings.storage import key
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.recording_desk import RecordingDesk
from ratings.storage.study_folder import open_study
from ratings.storage.verdict_desk import VerdictDesk
from ratings.study.bands import Band
from ratings.study.limits import Limits
from ratings.study.study_settings import StudySettings


@pytest.fixture
def study(tmp_path):
    study = small_study(tmp_path, sets=3, conditions=2)
    yield study
    study.close()


@pytest.fixture
def desk(study):
    return VerdictDesk(study, Clock())


def rows_of_settings(study):
    raw = raw_database(study.folder)
    (count,) = raw.execute("SELECT COUNT(*) FROM lead.setting").fetchone()
    raw.close()
    return count


def told(desk):
    return [(each.what, each.before, each.after) for each in desk.changes()]


def test_that_a_study_starts_with_defaults_and_nothing_changed(desk, study):
    assert desk.settings() == StudySettings(
        attribute_figures={"boom": "band_boom", "rumble": "band_structure_borne"}
    )
    assert desk.settings().planned_evaluators is None
    assert desk.changes() == ()
    assert rows_of_settings(study) == 0


def test_that_settings_are_there_when_the_study_is_opened_again(desk, study, tmp_path):
    desk.set_limits(Limits(0.5, 0.75, 1.5, 1.0))
    desk.set_planned_evaluators(8)
    desk.set_attribute_figure("boom", "leq_a")
    desk.set_lead_words("summary", " Birch,\r\nquietly \N{WHITE SMILING FACE}.\n")
    again = open_study(study.folder.path)
    settings = LeadDesk(again).settings()
    again.close()
    assert settings == StudySettings(
        limits=Limits(0.5, 0.75, 1.5, 1.0),
        planned_evaluators=8,
        attribute_figures={"boom": "leq_a", "rumble": "band_structure_borne"},
        lead_words={"summary": "Birch,\nquietly \N{WHITE SMILING FACE}."},
    )


def test_that_what_is_that_already_writes_nothing(desk, study):
    def set_all(limits, evaluators, figure, words):
        desk.set_limits(limits)
        desk.set_planned_evaluators(evaluators)
        desk.set_attribute_figure("boom", figure)
        desk.set_lead_words("recommendation", words)

    set_all(Limits(), None, "band_boom", " ")
    assert rows_of_settings(study) == 0
    for _ in range(2):
        set_all(Limits(matters=0.75), 8, None, "Take Birch.")
        assert rows_of_settings(study) == 4
    set_all(Limits(), None, "band_boom", "")
    assert rows_of_settings(study) == 8
    assert desk.settings() == VerdictDesk(study).settings()
    assert desk.settings().lead_words == {}


def test_that_every_change_is_told_with_time_and_the_scores_that_there_were(desk, study, tmp_path):
    desk.set_limits(Limits(matters=0.75, customer=1.5))
    listening = ListeningDesk(study, session_seats(study)[0].session_id, Clock())
    rate_pair(listening, listening.pairs[0])
    pair = listening.pairs[1]
    rate_pair(listening, pair)
    file = tmp_path / "driven.csv"
    file.write_text(
        'evaluator,set,condition,attribute,score\nE9,Birch,"coarse asphalt, 80 km/h",boom,6\n'
    )
    LeadDesk(study).bring_scores(file)
    desk.set_planned_evaluators(8)
    desk.set_attribute_figure("rumble", None)
    desk.set_attribute_figure("rumble", "sharpness")
    desk.set_limits(Limits(customer=1.5))
    desk.set_lead_words("summary", "Quiet.")
    assert told(desk) == [
        ("difference that matters", "0.5 points", "0.75 points"),
        ("difference that a customer notices", "1 point", "1.5 points"),
        ("planned evaluators", "none", "8"),
        ("figure beside rumble", "Structure-borne band, unweighted", "none"),
        ("figure beside rumble", "none", "Sharpness, diffuse field"),
        ("difference that matters", "0.75 points", "0.5 points"),
        ("summary", "", "Quiet."),
    ]
    expected = len(LeadDesk(study).score_table())
    assert expected == 9
    assert [each.scores_then for each in desk.changes()] == [0, 0, *[expected] * 5]
    moments = [each.changed_at for each in desk.changes()]
    assert moments == sorted(moments)
    assert {moment.utcoffset().total_seconds() for moment in moments} == {0}


def test_that_a_score_that_was_taken_back_is_not_counted(desk, study):
    listening = ListeningDesk(study, session_seats(study)[0].session_id, Clock())
    pair_id = listening.pairs[0].pair_id
    listening.record_opened(pair_id)
    for side in ("A", "B"):
        listening.record_heard(pair_id, side)
    listening.record_scores(pair_id, "boom", {"A": 3.0, "B": 4.0})
    listening.record_scores(pair_id, "boom", {"A": 5.0})
    listening.record_scores(pair_id, "boom", {"B": None})
    desk.set_planned_evaluators(8)
    assert [each.scores_then for each in desk.changes()] == [1]


def test_that_the_last_row_counts_when_the_clock_is_put_back(study):
    early, late = Clock(), Clock()
    late.now = early.now.replace(year=2032)
    VerdictDesk(study, late).set_planned_evaluators(8)
    VerdictDesk(study, early).set_planned_evaluators(12)
    desk = VerdictDesk(study)
    assert desk.settings().planned_evaluators == 12
    assert [each.after for each in desk.changes()] == ["8", "12"]


@pytest.mark.parametrize("evaluators", [0, -1, 1_001, 2.5, True, "8"])
def test_that_no_panel_of_such_a_size_is_kept(desk, study, evaluators):
    with pytest.raises(RatingsError, match=f"{evaluators} is not a number of evaluators"):
        desk.set_planned_evaluators(evaluators)
    assert rows_of_settings(study) == 0


@pytest.mark.parametrize(
    ("attribute", "figure", "words"),
    [
        ("squeal", "leq_a", "no attribute squeal"),
        ("boom", "band_squeal", "No figure band_squeal is measured"),
        ("boom", "squeal", "No figure squeal is measured"),
    ],
)
def test_that_a_figure_that_is_not_measured_is_refused(desk, study, attribute, figure, words):
    with pytest.raises(RatingsError, match=words):
        desk.set_attribute_figure(attribute, figure)
    assert rows_of_settings(study) == 0


def test_that_a_band_that_was_taken_away_is_named_beside_nothing(desk, study):
    desk.set_attribute_figure("boom", "band_cavity")
    RecordingDesk(study).change_bands((Band("low", "Low", 20, 100),))
    assert desk.settings().attribute_figures == {"boom": None, "rumble": None}


def test_that_settings_are_only_ever_added_to(desk, study):
    desk.set_planned_evaluators(8)
    raw = sqlite3.connect(study.folder.lead_database)
    for statement in ("UPDATE setting SET value = '9'", "DELETE FROM setting"):
        with pytest.raises(sqlite3.IntegrityError, match="setting is append-only"):
            raw.execute(statement)
    raw.close()


@pytest.mark.parametrize(
    "statement",
    [
        """UPDATE setting SET value = '{"small": 2}' WHERE name = 'limits'""",
        """UPDATE setting SET value = '{"wide": 2}' WHERE name = 'limits'""",
        "UPDATE setting SET value = '7' WHERE name = 'limits'",
        "UPDATE setting SET value = '{' WHERE name = 'limits'",
        "UPDATE setting SET value = '\"many\"' WHERE name = 'planned_evaluators'",
        "UPDATE setting SET value = '7' WHERE name = 'lead_words.summary'",
        "UPDATE setting SET value = '7' WHERE name = 'figure_beside.boom'",
    ],
)
def test_that_a_setting_that_nobody_set_is_told_as_damage(desk, study, statement):
    desk.set_limits(Limits(matters=0.75))
    desk.set_planned_evaluators(8)
    desk.set_lead_words("summary", "Quiet.")
    desk.set_attribute_figure("boom", "leq_a")
    patched(study.folder.lead_database, statement)
    with pytest.raises(StudyError, match="is damaged"):
        desk.settings()
    with pytest.raises(StudyError, match="is not what was written: Setting"):
        study.refuse_changed_rows()


def test_that_the_last_change_moves_with_settings_and_openings(desk, study):
    seen = [desk.last_change()]
    desk.set_planned_evaluators(8)
    seen.append(desk.last_change())
    key.open_key(study, "Ida", "all are finished")
    seen.append(desk.last_change())
    assert len(set(seen)) == 3
    desk.set_planned_evaluators(8)
    assert desk.last_change() == seen[-1]


def test_that_a_thousand_changes_cost_one_look_each_time(desk, study):
    with study.writing() as connection:
        for number in range(1, 1_001):
            connection.execute(
                sa.text(
                    "INSERT INTO lead.setting (name, value, score_count, set_at) VALUES "
                    "('planned_evaluators', :value, 0, '2031-07-31T09:00:00+00:00')"
                ),
                {"value": str(number)},
            )
    asked = []

    @sa.event.listens_for(study.engine, "before_cursor_execute")
    def keep(_connection, _cursor, statement, *_rest):
        asked.append(statement)

    assert desk.settings().planned_evaluators == 1_000
    few = len(asked)
    assert len(desk.changes()) == 1_000
    assert few < 10
    assert len(asked) - few < 10
