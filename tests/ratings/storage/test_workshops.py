import os
import subprocess
import sys
import time

import pytest
from studies import small_study

from ratings.storage import workshops
from ratings.storage.listening_desk import session_seats
from ratings.storage.seat_leases import seat_holder, take_seat
from ratings.storage.workshops import (
    LONGEST_WORK_S,
    clear_leftovers,
    clear_workshops,
    workshop_beside,
)

LEFT_ALONE = """
import os, signal, sys
from pathlib import Path
from ratings.storage.workshops import workshop_beside
with workshop_beside(Path(sys.argv[1])) as workshop:
    (workshop / "half.wav").write_bytes(b"half")
    print(workshop.name, flush=True)
    os.kill(os.getpid(), signal.SIGKILL)
"""


def test_that_a_workshop_is_gone_when_its_work_is_done_or_has_failed(tmp_path):
    with workshop_beside(tmp_path / "study") as workshop:
        assert workshop.parent == tmp_path
        assert workshop.name.startswith(".")
        (workshop / "made").mkdir()
    with pytest.raises(ZeroDivisionError), workshop_beside(tmp_path / "study"):
        raise ZeroDivisionError
    assert not list(tmp_path.iterdir())


@pytest.mark.skipif(os.name != "posix", reason="elsewhere what a program leaves goes after a day")
def test_that_the_next_work_takes_away_what_a_killed_program_left(tmp_path):
    killed = subprocess.run(
        [sys.executable, "-c", LEFT_ALONE, tmp_path / "study"],
        capture_output=True,
        text=True,
        check=False,
    )
    left = tmp_path / killed.stdout.strip()
    assert (left / "half.wav").exists()
    with workshop_beside(tmp_path / "study") as workshop:
        assert list(tmp_path.iterdir()) == [workshop]


def test_that_work_of_another_window_and_another_machine_is_left_alone(tmp_path):
    elsewhere = tmp_path / ".twinset-00000000-999999999-abc"
    elsewhere.mkdir()
    (tmp_path / ".twinset-notes").write_text("not a folder")
    with workshop_beside(tmp_path / "study") as first, workshop_beside(tmp_path / "study"):
        assert first.exists()
    assert {path.name for path in tmp_path.iterdir()} == {elsewhere.name, ".twinset-notes"}


def test_that_work_begun_more_than_a_day_ago_is_taken_away_wherever_it_was_begun(tmp_path):
    elsewhere = tmp_path / ".twinset-00000000-999999999-abc"
    elsewhere.mkdir()
    begun = elsewhere.stat().st_mtime - LONGEST_WORK_S - 60
    os.utime(elsewhere, (begun, begun))
    with workshop_beside(tmp_path / "study"):
        assert not elsewhere.exists()


def test_that_a_workshop_whose_number_belongs_to_another_process_by_now_is_taken_away(tmp_path):
    with workshop_beside(tmp_path / "study") as workshop:
        pass
    # Left by a killed program; its number is now that of this one, which lives.
    for name, goes in ((workshop.name, True), (workshop.name + "x", False)):
        left = tmp_path / name
        left.mkdir()
        (left / ".owner").write_bytes(b"")
        if goes:
            begun = left.stat().st_mtime - 3600
            os.utime(left, (begun, begun))
    clear_workshops(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == [workshop.name + "x"]


def test_that_long_work_of_a_program_that_lives_is_left_alone(tmp_path):
    with workshop_beside(tmp_path / "study") as workshop:
        begun = workshop.stat().st_mtime - LONGEST_WORK_S + 3600
        os.utime(workshop, (begun, begun))
        clear_workshops(tmp_path)
        assert workshop.exists()


def files(top):
    return sorted(path for path in top.rglob("*") if path.is_file())


def test_that_what_killed_programs_left_is_gone_and_everything_else_stays(tmp_path, monkeypatch):
    study = small_study(tmp_path)
    folder = study.folder
    folder.measurements.mkdir()
    whole = files(tmp_path)
    left = [
        tmp_path / ".twinset-00000000-999999999-abc" / "half",
        folder.recordings / ".twinset-00000000-999999999-abc" / "half",
        folder.clips / ".123456.wav.abc.partial",
        folder.measurements / "0123456789.partial",
        folder.lead / "study.before-step-3.partial",
        folder.path / ".seat-7.open",
    ]
    for path in left:
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(b"half")
    clear_leftovers(folder)
    # Work of another machine, and files that may just be written, wait for their time.
    assert files(tmp_path) == sorted([*whole, *left[:-1]])
    later = time.time() + LONGEST_WORK_S + 60
    monkeypatch.setattr(workshops.time, "time", lambda: later)
    clear_leftovers(folder)
    assert files(tmp_path) == whole
    study.close()


def test_that_live_work_is_left_alone(tmp_path):
    study = small_study(tmp_path)
    seat = session_seats(study)[0].session_id
    lease = take_seat(study, seat)
    with workshop_beside(study.folder.recordings / "run") as workshop:
        clear_leftovers(study.folder)
        assert workshop.exists()
        assert seat_holder(study, seat) is not None
    lease.release()
    study.close()
