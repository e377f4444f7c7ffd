"""What people were played on this machine, over all studies."""

import json
import math
import multiprocessing
from datetime import UTC, datetime, timedelta

import pytest
from studies import small_study

from ratings.errors import StudyError
from ratings.storage.dose_ledger import DoseLedger
from ratings.storage.exposure_rows import Played
from ratings.storage.held_files import hold
from ratings.storage.study_folder import open_study
from ratings.study.listening import Evaluator

NOON = datetime.now().astimezone().replace(hour=12, minute=0, second=0, microsecond=0)
ADA = Evaluator(1, "E1", "Ada  Brook")
SAME_ADA = Evaluator(7, "E4", " ada brook")
BO = Evaluator(2, "E2", "Bo")
NAMELESS = Evaluator(3, "E3", "")


@pytest.fixture
def here(tmp_path):
    study = small_study(tmp_path / "here")
    yield study
    study.close()


@pytest.fixture
def there(tmp_path):
    study = small_study(tmp_path / "there", sets=3)
    yield study
    study.close()


@pytest.fixture
def ledger(tmp_path):
    return DoseLedger(tmp_path / "dose", lambda: NOON.astimezone(UTC))


def the_file(tmp_path):
    return next((tmp_path / "dose").glob("*.jsonl"))


def test_that_a_person_is_counted_over_all_studies_by_name(ledger, here, there):
    ledger.note(ADA, there, 60.0, 80.0)
    ledger.note(ADA, there, 30.0, None)
    ledger.note(BO, there, 500.0, 90.0)
    ledger.note(ADA, here, 10.0, 70.0)
    assert ledger.today(SAME_ADA, here) == ([Played(60.0, 80.0), Played(30.0, None)], 0)
    # Its own study counts by its own rows, clip by clip.
    assert ledger.today(ADA, there).stretches == [Played(10.0, 70.0)]


def test_that_a_code_alone_is_nobody_in_another_study(ledger, here, there, tmp_path):
    ledger.note(NAMELESS, there, 60.0, 80.0)
    assert ledger.today(NAMELESS, here) == ([], 0)
    assert not (tmp_path / "dose").exists()


def test_that_yesterday_does_not_count(tmp_path, here, there):
    yesterday = (NOON - timedelta(days=1)).astimezone(UTC)
    DoseLedger(tmp_path / "dose", lambda: yesterday).note(ADA, there, 60.0, 80.0)
    ledger = DoseLedger(tmp_path / "dose", lambda: NOON.astimezone(UTC))
    assert ledger.today(ADA, here).stretches == []


def test_that_silence_comes_back_as_silence(ledger, here, there):
    ledger.note(ADA, there, 5.0, -math.inf)
    assert ledger.today(ADA, here).stretches == [Played(5.0, -math.inf)]


@pytest.mark.parametrize(
    "spoilt",
    [
        b"\xff\xfe\x00",
        b'{"person": "ada brook", "study": "x", "seconds": 60',
        b'{"person": "ada brook", "study": "x", "seconds": -5, "level_db_a": 80}',
        b'{"person": "ada brook", "study": "x", "seconds": 5, "level_db_a": 900}',
        b'{"person": "ada brook", "study": "x", "seconds": NaN, "level_db_a": 80}',
        b'{"person": "ada brook", "study": "x", "level_db_a": 80}',
        b"[1, 2]",
        b"17",
    ],
)
def test_that_a_damaged_line_is_told_and_spoils_no_other(ledger, here, there, tmp_path, spoilt):
    ledger.note(ADA, there, 60.0, 80.0)
    with the_file(tmp_path).open("ab") as stream:
        stream.write(spoilt)
    ledger.note(ADA, there, 30.0, 81.0)
    found = ledger.today(ADA, here)
    assert found.stretches == [Played(60.0, 80.0), Played(30.0, 81.0)]
    assert found.damaged == 1


def test_that_lines_are_only_ever_added(ledger, there, tmp_path):
    ledger.note(ADA, there, 60.0, 80.0)
    before = the_file(tmp_path).read_bytes()
    ledger.note(BO, there, 30.0, 81.0)
    assert the_file(tmp_path).read_bytes().startswith(before)


def test_that_a_place_that_cannot_be_written_is_told(tmp_path, here, there):
    (tmp_path / "dose").write_text("a file where the folder should be")
    ledger = DoseLedger(tmp_path / "dose")
    with pytest.raises(StudyError, match="could not be added to this machine's count"):
        ledger.note(ADA, there, 60.0, 80.0)
    with pytest.raises(StudyError, match="cannot be read"):
        ledger.today(ADA, here)


def test_that_a_program_that_never_lets_go_is_not_waited_for(ledger, there, tmp_path, monkeypatch):
    monkeypatch.setattr("ratings.storage.dose_ledger._WAIT_S", 0.0)
    (tmp_path / "dose").mkdir()
    held = hold(tmp_path / "dose" / "writing.lock")
    with pytest.raises(StudyError, match="another program is writing to it"):
        ledger.note(ADA, there, 60.0, 80.0)
    held.release()
    ledger.note(ADA, there, 60.0, 80.0)


def _write(folder, study_folder, name):
    study = open_study(study_folder)
    ledger = DoseLedger(folder)
    for _ in range(50):
        ledger.note(Evaluator(1, "E1", name), study, 1.0, 80.0)
    study.close()


@pytest.mark.slow
def test_that_two_programs_at_once_lose_no_line(tmp_path, there):
    context = multiprocessing.get_context("spawn")
    folder = tmp_path / "dose"
    programs = [
        context.Process(target=_write, args=(folder, there.folder.path, name))
        for name in ("Ada", "Bo")
    ]
    for program in programs:
        program.start()
    for program in programs:
        program.join()
    lines = [
        json.loads(line)
        for path in folder.glob("*.jsonl")
        for line in path.read_text(encoding="utf-8").splitlines()
    ]
    assert sorted(line["person"] for line in lines) == ["ada"] * 50 + ["bo"] * 50
