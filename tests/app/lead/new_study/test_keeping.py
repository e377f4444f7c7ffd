import os
import signal
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest
from studies import write_noise

from app.lead.new_study.draft_keeping import DraftKeeper
from app.lead.new_study.presenter import NewStudyPresenter
from ratings.intake.draft_file import read_draft
from ratings.intake.study_draft import Draft


@pytest.fixture
def keepers(qapp, tmp_path):
    """All keepers of one folder, the first window's first."""
    made = [DraftKeeper(tmp_path / "data")]
    yield made
    for keeper in made:
        keeper.let_go()


@pytest.fixture
def keeper(keepers):
    return keepers[0]


def begun_by(keeper, tmp_path):
    return NewStudyPresenter(tmp_path / "out", keeper=keeper)


def next_start(keepers, tmp_path):
    """Give what the program shows after it was ended without a word."""
    keepers[-1]._lease.release()
    keepers.append(DraftKeeper(tmp_path / "data"))
    return begun_by(keepers[-1], tmp_path)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b'{"form": 2, "draft": {"unheard": "of"}}', "a newer release"),
        (b"\xff\xfe\x00", "damaged"),
        (b"[" * 100_000, "damaged"),
    ],
)
def test_that_a_file_of_no_use_is_put_aside_and_told(
    qapp, tmp_path, keeper, keepers, content, words
):
    place = tmp_path / "data" / "new_study.json"
    place.parent.mkdir()
    for number in (1, 2):
        place.write_bytes(content)
        presenter = begun_by(keeper, tmp_path)
        assert words in presenter.notice.what_happened
        aside = place.with_suffix(f".unread-{number}.json")
        assert str(aside) in presenter.notice.what_to_do
        assert aside.read_bytes() == content
        assert presenter.draft == Draft(tmp_path / "out")
        keeper.let_go()
    presenter = begun_by(keeper, tmp_path)
    presenter.change(replace(presenter.draft, name="Week 31"))
    assert presenter.at_stake() == ""
    assert next_start(keepers, tmp_path).draft.name == "Week 31"


def test_that_a_draft_comes_back_with_its_files_and_what_was_moved_is_told(
    qtbot, keeper, keepers, tmp_path
):
    presenter = begun_by(keeper, tmp_path)
    files = [write_noise(tmp_path / f"{name}_coarse_80.wav", 1) for name in ("birch", "maple")]
    presenter.put_files(files)
    presenter.change(presenter.draft.with_control(2))
    presenter.change(presenter.draft.with_evaluator_names("Ada, Bo"))
    place = tmp_path / "data" / "new_study.json"
    qtbot.waitUntil(lambda: place.is_file() and read_draft(place.read_text()) == presenter.draft)
    files[0].unlink()
    again = next_start(keepers, tmp_path)
    assert again.draft == presenter.draft
    views = {}

    def are_read():
        views.update((f.path.name, again.review.cell(f.cell)) for f in again.draft.files)
        return all(view.kind != "reading" for view in views.values())

    qtbot.waitUntil(are_read)
    assert views["maple_coarse_80.wav"].kind == "ready"
    assert views["birch_coarse_80.wav"].kind == "refused"


def test_that_a_file_is_gone_once_its_study_was_made_or_the_draft_was_cleared(
    qtbot, keeper, keepers, tmp_path
):
    presenter = begun_by(keeper, tmp_path)
    place = tmp_path / "data" / "new_study.json"
    presenter.change(replace(presenter.draft, name="Week 31"))
    assert keeper.is_kept()
    assert place.is_file()
    presenter.maker.succeeded.emit(tmp_path / "made")
    assert not place.exists()
    presenter.change(replace(presenter.draft, name="Week 32"))
    assert keeper.is_kept()
    presenter.clear()
    assert keeper.is_kept()
    assert not place.exists()
    presenter.put_back()
    assert keeper.is_kept()
    assert next_start(keepers, tmp_path).draft.name == "Week 32"


def test_that_a_second_window_says_that_it_keeps_nothing(keeper, keepers, tmp_path):
    first = begun_by(keeper, tmp_path)
    first.change(replace(first.draft, name="Week 31"))
    assert first.at_stake() == ""
    keepers.append(DraftKeeper(tmp_path / "data"))
    second = begun_by(keepers[-1], tmp_path)
    assert second.notice.what_happened == "Another window keeps a draft of a new study."
    assert not second.draft.is_begun
    second.change(replace(second.draft, name="Week 32"))
    assert "is being prepared" in second.at_stake()
    first.put_away()
    second.put_away()
    keepers.append(DraftKeeper(tmp_path / "data"))
    assert begun_by(keepers[-1], tmp_path).draft.name == "Week 31"


def test_that_a_disk_that_refuses_is_told_once_and_closing_asks(qtbot, keeper, tmp_path):
    (tmp_path / "data").write_text("no folder")
    presenter = begun_by(keeper, tmp_path)
    told = []
    presenter.problem_raised.connect(told.append)
    presenter.change(replace(presenter.draft, name="Week 31"))
    qtbot.waitUntil(lambda: bool(told))
    assert "cannot be kept on this computer" in told[0].what_happened
    assert "is being prepared" in presenter.at_stake()
    assert len(told) == 1
    (tmp_path / "data").unlink()
    assert presenter.at_stake() == ""


_TYPE = """
import sys
from pathlib import Path
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from app.settings import Settings
from app.window import MainWindow
program = QApplication([])
program.setOrganizationName("Twinset")
program.setApplicationName("Twinset")
window = MainWindow(Settings())
window.show()
window.lead.show_new_study()
print("shown", flush=True)
number = 0
while True:
    window.screen_in_use.fields.vehicle.clear()
    QTest.keyClicks(window.screen_in_use.fields.vehicle, f"Alder wagon {number}")
    QTest.qWait(40)
    number += 1
"""


def number_in(place):
    """Give the number that was typed last; -1 while there is none."""
    vehicle = read_draft(place.read_bytes()).vehicle if place.is_file() else ""
    return int(vehicle.rpartition(" ")[2] or -1)


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="kills by signal")
def test_that_a_killed_program_shows_the_draft_again(qapp, tmp_path):
    surroundings = os.environ | {"HOME": str(tmp_path), "XDG_CONFIG_HOME": str(tmp_path)}
    place = Path(os.environ["XDG_DATA_HOME"]) / "Twinset" / "Twinset" / "new_study.json"
    before = -1
    for _ in range(3):
        process = subprocess.Popen(
            [sys.executable, "-c", _TYPE.replace("number = 0", f"number = {before + 1}")],
            env=surroundings,
            stdout=subprocess.PIPE,
        )
        with process:
            assert process.stdout.readline() == b"shown\n"
            until = time.monotonic() + 30.0
            while number_in(place) <= before and time.monotonic() < until:
                os.sched_yield()
            process.send_signal(signal.SIGKILL)
        keeper = DraftKeeper(place.parent)
        assert keeper.take_up() is not None
        keeper.let_go()
        assert number_in(place) > before
        before = number_in(place)
