import hashlib
import json
import shutil
import sqlite3

import pytest
from studies import nth
from study_damage import patched, rated_study

from ratings.errors import StudyError
from ratings.storage.ledger import CHAINED, mismatches, refuse_changed_rows
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.study_folder import open_study


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    return rated_study(tmp_path_factory.mktemp("rated"))


@pytest.fixture
def copy(whole, tmp_path):
    return shutil.copytree(whole, tmp_path / "copy")


def found_in(path):
    study = open_study(path)
    with study.reading() as connection:
        found = mismatches(connection)
    study.close()
    return [(each.table, each.number, each.what) for each in found]


def test_that_every_row_that_is_only_added_to_has_an_entry(copy):
    assert found_in(copy) == []
    for file, name in (("main", "study.sqlite"), ("lead", "lead/lead.sqlite")):
        raw = sqlite3.connect(copy / name)
        entries = raw.execute("SELECT COUNT(*) FROM ledger").fetchone()[0]
        counts = [raw.execute(f"SELECT COUNT(*) FROM {t}").fetchone()[0] for t in CHAINED[file]]
        raw.close()
        assert entries == sum(counts) > 0


def test_that_the_chain_is_what_its_description_says(copy):
    raw = sqlite3.connect(copy / "study.sqlite")
    before = ""
    for table, row_id, digest in raw.execute(
        "SELECT table_name, row_id, digest FROM ledger ORDER BY number"
    ).fetchall():
        columns = ", ".join(CHAINED["main"][table].split())
        row = raw.execute(f"SELECT {columns} FROM {table} WHERE {table}_id = ?", (row_id,))
        content = json.dumps(row.fetchone())
        before = hashlib.sha256(f"{before}\n{table}\n{content}".encode()).hexdigest()
        assert digest == before
    raw.close()


@pytest.mark.parametrize(
    ("file", "statement", "mismatch"),
    [
        (
            "study",
            f"UPDATE score SET value = 9 WHERE score_id = {nth('score', 7)}",
            ("score", 7, "changed"),
        ),
        (
            "study",
            f"UPDATE score SET value = NULL WHERE score_id = {nth('score', 7)}",
            ("score", 7, "changed"),
        ),
        (
            "study",
            f"UPDATE score SET side = 'A' WHERE score_id = {nth('score', 8)}",
            ("score", 8, "changed"),
        ),
        ("study", f"DELETE FROM score WHERE score_id = {nth('score', 7)}", ("score", 7, "missing")),
        (
            "study",
            f"UPDATE pair SET clip_a = clip_b WHERE pair_id = {nth('pair')}",
            ("pair", 1, "changed"),
        ),
        (
            "study",
            "UPDATE pair_event SET happened_at = '2031-07-31T23:00:00+00:00' "
            f"WHERE pair_event_id = {nth('pair_event', 3)}",
            ("pair_event", 3, "changed"),
        ),
        (
            "study",
            f"INSERT INTO note (pair_id, side, text, given_at) VALUES ({nth('pair')}, 'A', 'x', "
            "'2031-07-31T23:00:00+00:00')",
            ("note", None, "added"),
        ),
        (
            "lead/lead",
            "UPDATE pair_role SET role = 'candidate' WHERE role = 'null'",
            ("pair_role", 3, "changed"),
        ),
        (
            "lead/lead",
            "UPDATE clip_source SET recording_id = (SELECT MIN(recording_id) FROM recording WHERE "
            "recording_id != clip_source.recording_id) "
            "WHERE clip_id = (SELECT MIN(clip_id) FROM clip_source)",
            ("clip_source", 1, "changed"),
        ),
        (
            "lead/lead",
            "UPDATE key_opening SET who = 'Nobody'",
            ("key_opening", 1, "changed"),
        ),
        (
            "lead/lead",
            "UPDATE key_opening SET last_score_id = last_score_id + 99",
            ("key_opening", 1, "changed"),
        ),
        ("lead/lead", "DELETE FROM key_opening", ("key_opening", 1, "missing")),
        (
            "lead/lead",
            "UPDATE setting SET set_at = '2031-07-30T09:00:00+00:00' "
            f"WHERE setting_id = {nth('setting', 2)}",
            ("setting", 2, "changed"),
        ),
        ("lead/lead", "DELETE FROM brought_mark", ("brought_mark", 1, "missing")),
        (
            "lead/lead",
            "UPDATE score_import SET sets_by_name = 1 - sets_by_name",
            ("score_import", 1, "changed"),
        ),
        (
            "lead/lead",
            "UPDATE tyre_set SET code = '999' WHERE set_id = 2",
            ("tyre_set", 2, "changed"),
        ),
        ("lead/lead", "UPDATE tyre_set SET is_control = 1 - is_control", None),
        (
            "study",
            f"UPDATE evaluator SET code = 'E9' WHERE evaluator_id = {nth('evaluator')}",
            None,
        ),
        ("study", "UPDATE attribute SET key = 'hum' WHERE attribute_id = 1", None),
        (
            "study",
            "UPDATE ledger SET digest = replace(digest, 'a', 'b') WHERE number = 4",
            None,
        ),
    ],
)
def test_that_a_row_that_was_changed_taken_out_or_put_in_is_found(copy, file, statement, mismatch):
    patched(copy / f"{file}.sqlite", statement)
    found = found_in(copy)
    assert found
    if mismatch is not None and mismatch[0] != "pair_role":
        assert found == [mismatch]
    study = open_study(copy)
    with study.reading() as connection, pytest.raises(StudyError) as refusal:
        refuse_changed_rows(connection, "copy")
    study.close()
    assert "is not what was written" in refusal.value.what_happened
    assert "All other answers match" in refusal.value.what_to_do


def test_that_a_score_given_later_does_not_hide_one_that_was_changed(copy):
    patched(copy / "study.sqlite", f"UPDATE score SET value = 9 WHERE score_id = {nth('score', 7)}")
    study = open_study(copy)
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    desk.note_exposure(1.0, None)
    study.close()
    assert found_in(copy) == [("score", 7, "changed")]


def test_that_a_row_that_another_program_put_in_never_gets_an_entry(copy):
    patched(
        copy / "study.sqlite",
        "INSERT INTO note (pair_id, side, text, given_at) "
        f"VALUES ({nth('pair')}, 'A', 'x', '2031-07-31T23:00:00+00:00')",
    )
    study = open_study(copy)
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    with study.writing() as connection:
        connection.exec_driver_sql(
            "INSERT INTO note (pair_id, side, text, given_at) "
            f"VALUES ({nth('pair')}, 'A', 'y', '2031-07-31T23:00:01+00:00')"
        )
    assert desk.answers()[desk.pairs[0].pair_id].notes["A"] == "y"
    study.close()
    assert found_in(copy) == [("note", None, "added")]


def test_that_an_entry_that_names_no_row_is_told_as_damage(copy):
    patched(copy / "study.sqlite", "UPDATE ledger SET row_id = 'seven' WHERE number = 3")
    study = open_study(copy)
    with pytest.raises(StudyError, match=r"is damaged\. ledger\.row_id"):
        study.refuse_changed_rows()
    study.close()


def test_that_an_entry_of_the_chain_cannot_be_changed_by_mistake(copy):
    raw = sqlite3.connect(copy / "study.sqlite")
    for statement in ("UPDATE ledger SET digest = ''", "DELETE FROM ledger"):
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            raw.execute(statement)
    raw.close()


def test_that_names_get_their_entries_behind_those_that_are_there(copy):
    names = ("attribute", "condition", "evaluator", "clip", "tyre_set")
    before = [each for each in found_entries(copy) if each[0] not in LATER]
    for file in ("study.sqlite", "lead/lead.sqlite"):
        patched(copy / file, f"DELETE FROM main.ledger WHERE table_name IN {names + LATER}")
    put_back_before(5, copy)
    # Their digests stand on the entries before them, so that the chain is begun anew.
    assert sorted(found_entries(copy)) != sorted(before)
    study = open_study(copy)
    study.close()
    assert sorted(found_entries(copy)) == sorted(before)
    assert not {each for each in found_in(copy) if each[0] in names}


LATER = ("brought_mark", "setting", "key_opening", "score_import")


def put_back_before(step, path):
    """Let a study be as it was before a step, but for what the caller takes out."""
    raw = sqlite3.connect(path / "study.sqlite")
    raw.execute("DELETE FROM migration WHERE number >= ?", (step,))
    raw.execute("ATTACH DATABASE ? AS lead", (str(path / "lead" / "lead.sqlite"),))
    for table in LATER:
        raw.execute(f"DROP TABLE lead.{table}")
    for column in ("output_db", "below_db"):
        raw.execute(f"ALTER TABLE pair_event DROP COLUMN {column}")
    raw.commit()
    raw.close()


def found_entries(path):
    entries = []
    for file in ("study.sqlite", "lead/lead.sqlite"):
        raw = sqlite3.connect(path / file)
        entries += raw.execute("SELECT table_name, row_id FROM ledger").fetchall()
        raw.close()
    return entries


def test_that_an_older_study_gets_its_chain_when_it_is_opened(copy):
    for name in ("study.sqlite", "lead/lead.sqlite"):
        raw = sqlite3.connect(copy / name)
        raw.execute("DROP TABLE ledger")
        if name == "study.sqlite":
            raw.commit()
            put_back_before(4, copy)
        raw.commit()
        raw.close()
    assert found_in(copy) == []
    raw = sqlite3.connect(copy / "study.sqlite")
    scores = raw.execute("SELECT COUNT(*) FROM ledger WHERE table_name = 'score'").fetchone()[0]
    assert scores == raw.execute("SELECT COUNT(*) FROM score").fetchone()[0] > 0
    raw.close()
