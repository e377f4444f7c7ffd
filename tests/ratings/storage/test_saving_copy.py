import os
import shutil
import sqlite3
import subprocess
import sys
import threading

import pytest
from studies import nth
from study_damage import patched, rated_study

from ratings.errors import Cancelled, StudyError
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.mending import missing_clips
from ratings.storage.recording_desk import RecordingDesk
from ratings.storage.saving_copy import save_copy
from ratings.storage.study_folder import open_study


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    return rated_study(tmp_path_factory.mktemp("rated"))


@pytest.fixture
def study(whole, tmp_path):
    study = open_study(shutil.copytree(whole, tmp_path / "study"))
    yield study
    study.close()


def contents(path):
    return {
        file.relative_to(path): file.read_bytes()
        for file in path.rglob("*")
        if file.is_file() and file.suffix != ".sqlite"
    }


def test_that_a_copy_holds_every_file_and_every_score(study, tmp_path):
    (study.folder.clips / ".123456.wav.abc.partial").write_bytes(b"half")
    before = contents(study.folder.path)
    parts = []
    made = save_copy(study, tmp_path / "safe" / "copy", lambda part, _: parts.append(part))
    del before[(study.folder.clips / ".123456.wav.abc.partial").relative_to(study.folder.path)]
    assert contents(made) == before
    copy = open_study(made)
    assert missing_clips(copy) == ()
    assert LeadDesk(copy).score_table().equals(LeadDesk(study).score_table())
    copy.close()
    assert parts == sorted(parts)
    assert list((tmp_path / "safe").iterdir()) == [made]
    assert made.joinpath("lead").stat().st_mode == study.folder.lead.stat().st_mode


def test_that_copies_saved_while_somebody_rates_and_measures_are_whole(study, tmp_path, first):
    stop = threading.Event()

    def rate() -> None:
        desk = ListeningDesk(study, session_seats(study)[0].session_id)
        runs = RecordingDesk(study)
        while not stop.is_set():
            desk.note_exposure(1.0, None)
            runs.keep_measurement(first, [], [], {}, {"level": [1.0] * 1000}, 1)

    worker = threading.Thread(target=rate)
    worker.start()
    try:
        for number in range(5):
            made = save_copy(study, tmp_path / f"copy {number}")
            copy = open_study(made)
            copy.refuse_changed_rows()
            desk = RecordingDesk(copy)
            assert all(desk.arrays(run.recording_id) for run in desk.runs())
            copy.close()
    finally:
        stop.set()
        worker.join()


def test_that_a_cancelled_copy_leaves_nothing(study, tmp_path):
    def cancel(part: float, _words: str) -> None:
        if part > 0.3:
            raise Cancelled

    with pytest.raises(Cancelled):
        save_copy(study, tmp_path / "copy", cancel)
    assert [path.name for path in tmp_path.iterdir()] == ["study"]


def test_that_a_copy_never_takes_the_place_of_something(study, tmp_path):
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "letter").write_text("kept")
    with pytest.raises(StudyError, match="mine is not empty"):
        save_copy(study, tmp_path / "mine")
    with pytest.raises(StudyError, match="would lie inside of the study"):
        save_copy(study, study.folder.path / "copy")
    assert (tmp_path / "mine" / "letter").read_text() == "kept"


def test_that_a_copy_of_a_study_with_changed_scores_is_told(study, tmp_path):
    patched(study.folder.database, f"UPDATE score SET value = 1 WHERE score_id = {nth('score', 3)}")
    with pytest.raises(StudyError, match="Score 3 was changed"):
        save_copy(study, tmp_path / "copy")
    assert not (tmp_path / "copy").exists()


KILLED = """
import os, signal, sys
from pathlib import Path
from ratings.storage.saving_copy import save_copy
from ratings.storage.study_folder import open_study
def die(part, _words):
    if part >= float(sys.argv[3]):
        os.kill(os.getpid(), signal.SIGKILL)
save_copy(open_study(sys.argv[1]), Path(sys.argv[2]), die)
"""


@pytest.mark.skipif(os.name != "posix", reason="elsewhere a program is not killed by a signal")
@pytest.mark.parametrize("part", [0.0, 0.5, 0.9])
def test_that_a_copy_that_was_killed_is_not_there_and_is_cleared_by_the_next(study, tmp_path, part):
    place = tmp_path / "copy"
    subprocess.run([sys.executable, "-c", KILLED, study.folder.path, place, str(part)], check=False)
    assert not place.exists()
    assert list(tmp_path.glob(".twinset-*"))
    assert save_copy(study, place) == place
    assert not list(tmp_path.glob(".twinset-*"))
    raw = sqlite3.connect(place / "study.sqlite")
    assert raw.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    raw.close()
