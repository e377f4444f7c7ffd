"""Programs that are killed at any moment, and what must be there afterwards.

Run by hand: ``python tests/study_kills.py [HOW MANY] [FIRST]``. Children are forked, so that a kill
takes a fraction of a second; only where the system has fork and SIGKILL.
"""

import contextlib
import os
import random
import shutil
import signal
import sqlite3
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from studies import hear_both, small_plan, small_study
from study_damage import rated_study

from ratings.errors import StudyError
from ratings.intake.making import make_study
from ratings.storage.blind_study import open_blind_study
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.mending import missing_clips
from ratings.storage.saving_copy import save_copy
from ratings.storage.study_folder import open_study

OLD = Path(__file__).parent / "ratings" / "storage" / "old_studies" / "version_1.sql"
Tell = Callable[[str], None]


def killed(
    act: Callable[[Tell], None], delay_s: float, *, once_told: bool = False
) -> tuple[list[str], bool]:
    """Run an act in a process of its own and kill it; return what it told, and whether it died.

    Parameters
    ----------
    delay_s
        From its start, or from the first that it told.
    """
    reading_end, writing_end = os.pipe()
    process = os.fork()
    if process == 0:
        os.close(reading_end)
        code = 1
        try:
            act(lambda line: os.write(writing_end, f"{line}\n".encode()) and None)
            code = 0
        finally:
            os._exit(code)
    os.close(writing_end)
    with os.fdopen(reading_end) as told:
        first = told.readline() if once_told else ""
        time.sleep(delay_s)
        with contextlib.suppress(ProcessLookupError):
            os.kill(process, signal.SIGKILL)
        _, status = os.waitpid(process, 0)
        lines = (first + told.read()).splitlines()
    if os.WIFEXITED(status) and os.WEXITSTATUS(status):
        raise AssertionError(f"the act failed by itself after {lines[-1:]}")
    return lines, os.WIFSIGNALED(status)


def refuse_broken(path: Path) -> None:
    """Fail for a study in which anything is not whole."""
    study = open_study(path)
    study.refuse_changed_rows()
    assert missing_clips(study) == ()
    study.close()
    for name in ("study.sqlite", "lead/lead.sqlite"):
        with contextlib.closing(sqlite3.connect(path / name)) as raw:
            assert raw.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def rate_and_die(path: Path, rng: random.Random) -> int:
    """Kill a seat that scores without a pause; return how many scores it was told are kept."""

    def rate(tell: Tell) -> None:
        study = open_blind_study(path)
        desk = ListeningDesk(study, session_seats(study)[0].session_id)
        pair = desk.pairs[0]
        hear_both(desk, pair.pair_id)
        for number in range(1_000_000):
            value = 1 + number % 37 / 4
            attribute = desk.attributes[number % 2].key
            desk.record_scores(pair.pair_id, attribute, {"A": value, "B": 11 - value})
            tell(f"{attribute} {value}")
            desk.note_exposure(1.0, None)

    before = _scores(path)
    told, _ = killed(rate, rng.uniform(0.0, 0.3), once_told=True)
    refuse_broken(path)
    after = _scores(path)
    given = [row for row in after[len(before) :] if row[0] == "A"]
    assert after[: len(before)] == before
    # At most one more was on the disk before it could be told.
    assert [f"{key} {value}" for _, key, value in given][: len(told)] == told
    assert len(given) - len(told) in (0, 1)
    return len(told)


def _scores(path: Path) -> list[tuple[str, str, float]]:
    with contextlib.closing(sqlite3.connect(path / "study.sqlite")) as raw:
        return raw.execute(
            "SELECT side, key, value FROM score JOIN attribute USING (attribute_id) "
            "ORDER BY score_id"
        ).fetchall()


def open_old_and_die(place: Path, rng: random.Random) -> bool:
    """Kill a program that brings an old study up to date; its scores must be there afterwards."""
    place.mkdir()
    with contextlib.closing(sqlite3.connect(place / "study.sqlite")) as raw:
        raw.executescript(OLD.read_text())
    _, died = killed(lambda _tell: open_study(place).close(), rng.uniform(0.0, 0.4))
    study = open_study(place)
    study.refuse_changed_rows()
    assert LeadDesk(study).score_table()["score"].tolist() == [7, 7, 6, 6, 7, 7, 6, 6, 7]
    study.close()
    shutil.rmtree(place)
    return died


def copy_and_die(whole: Path, place: Path, rng: random.Random) -> bool:
    """Kill a program that saves a copy; the copy is whole or not there."""
    study_place = place / "copy"

    def copy(_tell: Tell) -> None:
        save_copy(open_study(whole), study_place)

    _, died = killed(copy, rng.uniform(0.0, 0.8))
    return _whole_or_gone(study_place, died)


def make_and_die(place: Path, rng: random.Random) -> bool:
    """Kill a program that makes a study; the study is whole or not there."""
    study_place = place / "made"
    plan = small_plan(place / "in")
    _, died = killed(lambda _tell: make_study(study_place, plan).close(), rng.uniform(0.0, 1.5))
    return _whole_or_gone(study_place, died)


def _whole_or_gone(place: Path, died: bool) -> bool:
    if place.exists():
        refuse_broken(place)
        shutil.rmtree(place)
    else:
        assert died
        with contextlib.suppress(StudyError):
            open_study(place)
            raise AssertionError("half a study")
    return died


def main(count: int, first: int) -> None:
    """Kill seats `count` times, and a tenth as often programs that migrate, copy and make."""
    ends: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        seat = small_study(folder / "seat")
        seat.close()
        whole = rated_study(folder / "whole")
        for seed in range(first, first + count):
            rng = random.Random(seed)
            ends["scores told"] += rate_and_die(seat.folder.path, rng)
            ends["seats killed"] += 1
            if seed % 10 == 0:
                ends["killed while migrating"] += open_old_and_die(folder / "old", rng)
                ends["killed while copying"] += copy_and_die(whole, folder, rng)
                ends["killed while making"] += make_and_die(folder, rng)
    sys.stdout.write(f"{dict(ends)}\n")


if __name__ == "__main__":
    main(*(int(word) for word in (*sys.argv[1:], "100", "0")[:2]))
