import contextlib
import random
import shutil
import sqlite3
from pathlib import Path

import pytest
from studies import raw_database, small_study, write_noise
from study_damage import (
    STRANGE,
    columns_of,
    damage,
    one_of_its_files,
    patched,
    rated_study,
    read_everything,
)

from ratings.errors import RatingsError, StudyError
from ratings.storage.blind_study import StudyFolder, open_blind_study
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import session_seats
from ratings.storage.recording_desk import RecordingDesk
from ratings.storage.study_folder import open_study
from ratings.study.runs import ChannelSetting, NewRun


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    return rated_study(tmp_path_factory.mktemp("rated"))


@pytest.fixture
def copy(whole, tmp_path):
    return shutil.copytree(whole, tmp_path / "copy")


def test_that_a_study_copied_while_it_was_written_is_told(copy):
    content = (copy / "study.sqlite").read_bytes()
    raw = sqlite3.connect(copy / "study.sqlite")
    raw.executemany(
        "INSERT INTO note (pair_id, side, text, given_at) VALUES (1, 'A', ?, '2031-07-31T09:00Z')",
        [("n" * 500,)] * 100,
    )
    raw.commit()
    raw.close()
    later = (copy / "study.sqlite").read_bytes()
    # Pages were copied while others were still to be written.
    half = len(content) // 8192 * 4096
    (copy / "study.sqlite").write_bytes(later[:half] + content[half:])
    with pytest.raises(StudyError, match=r"is damaged"):
        open_study(copy)


def test_that_an_index_that_misses_a_row_is_told(copy):
    file = copy / "lead" / "lead.sqlite"
    raw = sqlite3.connect(file)
    root = "SELECT rootpage FROM sqlite_master WHERE name = 'measuring_by_recording'"
    (page,) = raw.execute(root).fetchone()
    (size,) = raw.execute("PRAGMA page_size").fetchone()
    raw.close()
    content = bytearray(file.read_bytes())
    # The last byte of a leaf is the number of the row that its first entry leads to.
    content[page * size - 1] ^= 0x40
    file.write_bytes(content)
    with pytest.raises(StudyError, match="Its parts do not fit together"):
        open_study(copy)


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        ("DROP TRIGGER score_refuses_update", "lacks the trigger score_refuses_update"),
        ("DROP TABLE run_note", "lacks the column run_note"),
        ("ALTER TABLE note RENAME COLUMN text TO txt", "lacks the column note.text"),
        ("UPDATE pair SET clip_a = 99", "A row of pair belongs to a row of clip that is gone"),
        (
            "UPDATE pair_role SET pair_id = pair_id + 500",
            "A row of pair_role belongs to a",
        ),
    ],
)
def test_that_a_study_whose_tables_do_not_fit_together_is_told(copy, statement, words):
    if statement.startswith("UPDATE"):
        patched(copy / "study.sqlite", statement)
    else:
        raw = raw_database(StudyFolder(copy))
        raw.execute(statement)
        raw.close()
    with pytest.raises(StudyError, match=words):
        open_study(copy)


@pytest.mark.parametrize("seed", range(12))
def test_that_damage_of_any_kind_is_refused_in_words_or_does_no_harm(copy, seed):
    rng = random.Random(seed)
    damage(one_of_its_files(copy, rng), rng)
    # Anything but a refusal in words fails here.
    with contextlib.suppress(RatingsError):
        read_everything(copy)


@pytest.mark.slow
@pytest.mark.parametrize("part", range(4))
def test_that_no_cell_of_any_column_gives_more_than_a_refusal(whole, tmp_path, part):
    files = [Path("study.sqlite"), Path("lead") / "lead.sqlite"]
    columns = [each for file in files for each in columns_of(whole / file)]
    for number, (table, column) in enumerate(columns):
        if number % 4 != part:
            continue
        copy = shutil.copytree(whole, tmp_path / f"{table}.{column}")
        # One value, another for each column: `study_damage.py` tries them all.
        for value in STRANGE[number % len(STRANGE) :][:1]:
            for file in files:
                shutil.copy(whole / file, copy / file)
            try:
                patched(copy / "study.sqlite", f"UPDATE {table} SET {column} = ?", value)
            except sqlite3.DatabaseError:
                continue
            with contextlib.suppress(RatingsError):
                read_everything(copy)
        shutil.rmtree(copy)


def test_that_a_text_whose_bytes_are_none_is_told(copy):
    patched(copy / "study.sqlite", "UPDATE evaluator SET name = CAST(x'41ff42' AS TEXT)")
    study = open_study(copy)
    with pytest.raises(StudyError, match=r"is damaged\. A text in it cannot be read"):
        session_seats(study)
    study.close()


def test_that_the_name_of_an_original_need_not_be_text(tmp_path):
    study = small_study(tmp_path)
    odd = write_noise(tmp_path / "run.wav", 99).rename(tmp_path / "run\udcff\udcfe.wav")
    desk = RecordingDesk(study)
    number = desk.bring_run(NewRun(odd, 1, 1, (ChannelSetting("driver left ear"),) * 2))
    assert desk.run_file(number).is_file()
    with study.reading() as connection:
        name = connection.exec_driver_sql(
            f"SELECT original_name FROM recording WHERE recording_id = {number}"
        ).scalar()
    assert name == "run\\udcff\\udcfe.wav"
    study.close()


@pytest.mark.parametrize("marks", [0, 1])
def test_that_a_study_without_exactly_one_control_is_told(copy, marks):
    patched(copy / "study.sqlite", "UPDATE tyre_set SET is_control = ?", marks)
    study = open_study(copy)
    with pytest.raises(StudyError, match="sets are marked as the control, where one must be"):
        LeadDesk(study).control_code()
    study.close()


@pytest.mark.parametrize(
    "statement",
    [
        "CREATE TRIGGER deaf BEFORE INSERT ON score BEGIN SELECT RAISE(IGNORE); END",
        "CREATE VIEW more AS WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) "
        "SELECT i FROM n",
    ],
)
@pytest.mark.parametrize("opening", [open_study, open_blind_study])
def test_that_triggers_and_views_of_others_are_refused(copy, statement, opening):
    with contextlib.closing(sqlite3.connect(copy / "study.sqlite")) as raw:
        raw.execute(statement)
    with pytest.raises(StudyError, match="which is not this program's"):
        opening(copy)


def test_that_a_trigger_of_ours_that_does_nothing_is_refused(copy):
    with contextlib.closing(sqlite3.connect(copy / "study.sqlite")) as raw:
        raw.execute("DROP TRIGGER score_refuses_update")
        raw.execute(
            "CREATE TRIGGER score_refuses_update BEFORE UPDATE ON score BEGIN SELECT 1; END"
        )
    with pytest.raises(StudyError, match="which is not this program's"):
        open_study(copy)
