import shutil
import sqlite3
from pathlib import Path

import pytest
import sqlalchemy as sa

from ratings.errors import StudyError
from ratings.storage import study_folder
from ratings.storage.blind_study import StudyFolder
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.lead_file import connect_both
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.migrations import STEPS, migrate, version_of
from ratings.storage.recording_desk import RecordingDesk
from ratings.storage.study_folder import open_study
from ratings.study.bands import DEFAULT_BANDS

#: Two sets in two conditions, 20 Pa per full scale, two pairs rated, a note, a driven score:
#: written by the program when a study had one step behind it.
VERSION_1 = (Path(__file__).parent / "old_studies" / "version_1.sql").read_text()


@pytest.fixture
def old_folder(tmp_path):
    raw = sqlite3.connect(tmp_path / "study.sqlite")
    raw.executescript(VERSION_1)
    raw.close()
    return tmp_path


def rows_of(database, tables):
    raw = sqlite3.connect(database)
    lead = database.parent / "lead" / "lead.sqlite"
    if lead.exists():
        raw.execute("ATTACH DATABASE ? AS lead", (str(lead),))
    rows = {table: raw.execute(f"SELECT * FROM {table}").fetchall() for table in tables}
    raw.close()
    return rows


def test_that_a_study_that_cannot_be_kept_as_it_is_takes_no_step(old_folder, monkeypatch):
    def fails(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(study_folder, "copy_database", fails)
    with pytest.raises(StudyError, match="cannot be kept as it is"):
        open_study(old_folder)
    assert len(rows_of(old_folder / "study.sqlite", ["migration"])["migration"]) == 1


def test_that_an_old_study_goes_on_as_it_was_left(old_folder):
    study = open_study(old_folder)
    scores = LeadDesk(study).score_table()
    assert scores["score"].tolist() == [7, 7, 6, 6, 7, 7, 6, 6, 7]
    seat = session_seats(study)[0]
    assert (seat.locked_count, seat.pair_count) == (2, 4)
    desk = ListeningDesk(study, seat.session_id)
    assert desk.answers()[desk.pairs[2].pair_id].notes == {"A": "a whistle"}
    assert desk.exposure_today() == []
    study.close()


def test_that_the_recordings_of_an_old_study_are_first_runs_with_ears(old_folder):
    study = open_study(old_folder)
    desk = RecordingDesk(study)
    runs = desk.runs()
    assert [(run.run, run.is_level_true, run.has_speed) for run in runs] == [(1, True, False)] * 4
    assert {run.roles for run in runs} == {("driver left ear", "driver right ear")}
    settings = desk.channel_settings(runs[0].recording_id)
    assert [each.pa_per_full_scale for each in settings] == [20.0, 20.0]
    assert settings[0].calibration == "given when the study was made"
    study.close()


@pytest.mark.parametrize(
    ("channels", "left", "right", "roles"),
    [
        (1, 0, 0, ["driver left ear"]),
        (4, 2, 0, ["driver right ear", "not used", "driver left ear", "not used"]),
    ],
)
def test_that_ears_are_the_channels_that_the_clip_was_cut_from(
    old_folder, channels, left, right, roles
):
    raw = sqlite3.connect(old_folder / "study.sqlite")
    raw.execute("UPDATE recording SET channels = ?, pa_per_full_scale = NULL", (channels,))
    raw.execute("UPDATE clip_source SET left_channel = ?, right_channel = ?", (left, right))
    raw.commit()
    raw.close()
    study = open_study(old_folder)
    settings = RecordingDesk(study).channel_settings(1)
    assert [each.role for each in settings] == roles
    assert {(each.pa_per_full_scale, each.calibration) for each in settings} == {
        (None, "not calibrated")
    }
    study.close()


def test_that_a_study_from_before_goes_on_without_the_band_that_came_later(old_folder):
    study = open_study(old_folder)
    table = RecordingDesk(study).band_table()
    assert table.version == 1
    assert table.bands == tuple(band for band in DEFAULT_BANDS.bands if band.key != "hiss")
    study.close()


def test_that_the_sample_study_comes_up_with_every_score(tmp_path):
    sample = Path(__file__).resolve().parents[3] / "sample_sessions" / "alder_wagon"
    shutil.copytree(sample, tmp_path / "study")
    tmp_path = tmp_path / "study"
    scores = rows_of(tmp_path / "study.sqlite", ["score"])["score"]
    study = open_study(tmp_path)
    runs = RecordingDesk(study).runs()
    # Twelve that are heard, and two more of each of the four sets on the coarse road.
    assert (len(runs), sum(run.run > 1 for run in runs)) == (20, 8)
    assert rows_of(tmp_path / "study.sqlite", ["score"])["score"] == scores
    assert len(scores) > 100
    study.close()


def test_that_the_step_makes_the_same_columns_of_an_old_study_as_of_a_new_one(
    old_folder, tmp_path_factory
):
    open_study(old_folder).close()
    new = tmp_path_factory.mktemp("new") / "study.sqlite"
    shapes = []
    (new.parent / "lead").mkdir()
    for path in (old_folder, new.parent):
        engine = connect_both(StudyFolder(path), read_only=False, may_be_new=True)
        with engine.connect() as connection:
            migrate(connection)
            assert version_of(connection) == len(STEPS)
            shapes.append(
                [
                    connection.execute(
                        sa.text(f"SELECT name, sql FROM {file}.sqlite_master ORDER BY type, name")
                    ).all()
                    for file in ("main", "lead")
                ]
            )
        engine.dispose()
    assert shapes[0] == shapes[1]
