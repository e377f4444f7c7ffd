import time

from studies import small_study

from ratings.storage import leftovers
from ratings.storage.leftovers import clear_leftovers
from ratings.storage.listening_desk import session_seats
from ratings.storage.seat_leases import seat_holder, take_seat
from ratings.storage.workshops import LONGEST_WORK_S, workshop_beside


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
    monkeypatch.setattr(leftovers.time, "time", lambda: later)
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
