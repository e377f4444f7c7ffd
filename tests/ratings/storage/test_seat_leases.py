import platform
import shutil
import signal
import subprocess
import sys

import pytest

from ratings.storage.listening_desk import session_seats
from ratings.storage.seat_leases import seat_holder, take_seat
from ratings.storage.study_folder import open_study

HOLDS = """
import sys, time
from ratings.storage.seat_leases import take_seat
from ratings.storage.study_folder import open_study
lease = take_seat(open_study(sys.argv[1]), int(sys.argv[2]))
print(lease.other is None, flush=True)
sys.stdin.read()
"""


@pytest.fixture
def seat(study):
    return session_seats(study)[0].session_id


@pytest.fixture
def other_program(study, seat):
    program = subprocess.Popen(
        [sys.executable, "-c", HOLDS, study.folder.path, str(seat)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    with program:
        assert program.stdout.readline() == "True\n"
        yield program
        program.kill()


def test_that_a_seat_that_is_open_in_another_program_is_told_with_its_machine(
    study, seat, other_program
):
    holder = seat_holder(study, seat)
    assert (holder.machine, holder.is_this_machine) == (platform.node(), True)
    assert holder.since is not None
    lease = take_seat(study, seat)
    assert lease.other == holder
    lease.release()
    # To leave a seat that somebody else holds takes nothing from them.
    assert seat_holder(study, seat) == holder


def test_that_a_seat_is_free_again_when_its_program_was_killed(study, seat, other_program):
    other_program.send_signal(signal.SIGKILL)
    other_program.wait()
    assert seat_holder(study, seat) is None
    lease = take_seat(study, seat)
    assert lease.other is None
    lease.release()


def test_that_a_seat_opened_twice_in_one_program_is_told_until_it_is_left(study, seat):
    first = take_seat(study, seat)
    assert first.other is None
    assert take_seat(study, seat).other is not None
    first.release()
    first.release()
    assert seat_holder(study, seat) is None
    assert not list(study.folder.path.glob(".seat-*"))


def test_that_a_copy_of_a_study_that_is_open_elsewhere_has_free_seats(
    study, seat, other_program, tmp_path
):
    shutil.copytree(study.folder.path, tmp_path / "copy")
    copy = open_study(tmp_path / "copy")
    assert seat_holder(copy, seat) is None
    copy.close()


def test_that_a_lease_that_tells_nothing_still_says_that_the_seat_is_open(study, seat):
    lease = take_seat(study, seat)
    (file,) = study.folder.path.glob(".seat-*")
    file.write_bytes(b"\xff\x00 half")
    holder = seat_holder(study, seat)
    assert (holder.machine, holder.since) == ("", None)
    lease.release()
