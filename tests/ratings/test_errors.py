import errno
import os
import shutil

import pytest

from ratings.errors import reason_of


def test_that_a_system_error_gives_its_reason_without_number_or_path(tmp_path):
    with pytest.raises(FileNotFoundError) as raised:
        (tmp_path / "gone").read_bytes()
    assert reason_of(raised.value) == os.strerror(errno.ENOENT).lower()


def test_that_a_folder_that_cannot_be_copied_gives_the_last_reason(tmp_path):
    (tmp_path / "from" / "in").mkdir(parents=True)
    for name in ("a.wav", "in/b.wav"):
        (tmp_path / "from" / name).write_bytes(b"sound")

    def full(_source, target, **_ways):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), target)

    with pytest.raises(shutil.Error) as raised:
        shutil.copytree(tmp_path / "from", tmp_path / "to", copy_function=full)
    assert raised.value.strerror is None
    assert reason_of(raised.value) == os.strerror(errno.ENOSPC).lower()


@pytest.mark.parametrize("problem", [OSError("odd"), OSError(), shutil.Error(), shutil.Error([])])
def test_that_an_error_without_a_reason_says_so(problem):
    assert reason_of(problem) == "the system gives no reason"


def test_that_a_refused_copy_gives_its_sentence():
    problem = shutil.Error("`a` and `b` are the same file")
    assert reason_of(problem) == "`a` and `b` are the same file"
