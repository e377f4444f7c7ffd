"""A study from before settings and openings of the key, opened by the program of today."""

import sqlite3

import pytest
from studies import Clock, rate_pair, small_study

from ratings.errors import StudyError
from ratings.storage import key, study_folder
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.study_folder import open_study
from ratings.storage.verdict_desk import VerdictDesk

NEW = ("brought_mark", "setting", "key_opening", "score_import")


@pytest.fixture
def old(tmp_path):
    """A study as step 6 left it: rated, with a table of scores imported by names."""
    study = small_study(tmp_path, sets=3, conditions=2)
    listening = ListeningDesk(study, session_seats(study)[0].session_id, Clock())
    rate_pair(listening, listening.pairs[0])
    file = tmp_path / "driven.csv"
    file.write_text(
        'evaluator,set,condition,attribute,score\nD1,Birch,"coarse asphalt, 80 km/h",boom,6\n'
    )
    LeadDesk(study).bring_scores(file)
    study.close()
    raw = sqlite3.connect(study.folder.database)
    raw.execute("ATTACH DATABASE ? AS lead", (str(study.folder.lead_database),))
    raw.execute("DELETE FROM migration WHERE number > 6")
    raw.execute("DROP TRIGGER lead.ledger_refuses_delete")
    # It was the last entry, so that nothing stands on it.
    raw.execute("DELETE FROM lead.ledger WHERE table_name = 'score_import'")
    raw.execute(
        "CREATE TRIGGER lead.ledger_refuses_delete BEFORE DELETE ON ledger "
        "BEGIN SELECT RAISE(ABORT, 'ledger is append-only'); END"
    )
    for table in NEW:
        raw.execute(f"DROP TABLE lead.{table}")
    raw.commit()
    raw.close()
    return study.folder


def test_that_an_older_study_is_brought_up_to_date_and_keeps_its_scores(old):
    study = open_study(old.path)
    study.refuse_changed_rows()
    table = LeadDesk(study).score_table()
    assert len(table) == 5
    assert not table["after_opening"].any()
    assert VerdictDesk(study).changes() == ()
    VerdictDesk(study).set_planned_evaluators(8)
    log = key.blindness_log(study)
    # Nobody wrote down then how the table named its sets.
    assert [(each.file_name, each.sets_by_name) for each in log.imports] == [("driven.csv", None)]
    assert log.openings == ()
    key.open_key(study, "Ida", "all are finished")
    assert set(key.names(study).values()) == {"Maple", "Birch", "Larch"}
    study.refuse_changed_rows()
    study.close()
    assert {path.name for path in old.lead.glob("*.before-step-7.sqlite")} == {
        "study.before-step-7.sqlite",
        "lead.before-step-7.sqlite",
    }


def test_that_an_older_study_that_may_only_be_read_is_refused_in_words(old, monkeypatch):
    before = old.lead_database.read_bytes()
    monkeypatch.setattr(study_folder, "may_write_both", lambda _folder: False)
    with pytest.raises(StudyError, match="may only be read here"):
        open_study(old.path)
    assert old.lead_database.read_bytes() == before
