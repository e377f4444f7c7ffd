import sqlite3

import pytest
from PySide6.QtCore import QThreadPool
from studies import small_study

from app.listening.exposure_keeper import KEEP_EVERY_MS, ExposureKeeper
from app.listening.seat_state import read_seat
from app.playback.dose import Listened
from ratings.errors import StudyError
from ratings.storage.dose_ledger import DoseLedger
from ratings.storage.exposure_rows import Played

LEVELS = {"A": 70.0, "B": None}


@pytest.fixture
def study(tmp_path):
    study = small_study(tmp_path)
    yield study
    QThreadPool.globalInstance().waitForDone()
    study.close()


@pytest.fixture
def keeper(desk, player):
    keeper = ExposureKeeper(desk, player, Listened(), session_level_db_a=lambda: 72.0)
    keeper.begin(desk.pairs[0], LEVELS)
    return keeper


def close(keeper):
    keeper.close()
    keeper.write_rest()


def written(study):
    with sqlite3.connect(study.folder.database) as raw:
        query = "SELECT clip_id, seconds, level_db_a FROM exposure ORDER BY exposure_id"
        rows = raw.execute(query).fetchall()
    raw.close()
    return rows


def test_that_each_side_is_written_with_no_clip_and_no_level_of_its_own(
    qtbot, study, player, keeper
):
    player.play()
    player.pass_time(4.0)
    player.switch()
    player.pass_time(2.5)
    player.pause()
    qtbot.waitUntil(lambda: len(written(study)) == 2)
    assert written(study) == [(None, 4.0, 72.0), (None, 2.5, None)]


def test_that_a_pause_counts_nothing(qtbot, study, player, keeper):
    player.play()
    player.pass_time(4.0)
    player.pause()
    player.pass_time(100.0)
    close(keeper)
    assert [seconds for _, seconds, _ in written(study)] == [4.0]
    assert keeper.today.played_s == 4.0


def test_that_it_is_written_every_ten_seconds_while_it_plays(qtbot, study, player, keeper):
    assert KEEP_EVERY_MS == 10_000
    assert not keeper._timer.isActive()
    player.play()
    assert keeper._timer.isActive()
    for _ in range(3):
        player.pass_time(10.0)
        keeper._timer.timeout.emit()
    qtbot.waitUntil(lambda: len(written(study)) == 3)
    player.pause()
    assert not keeper._timer.isActive()


def test_that_a_switch_alone_writes_nothing(study, player, keeper):
    player.play()
    player.pass_time(4.0)
    player.switch()
    QThreadPool.globalInstance().waitForDone()
    assert written(study) == []


def test_that_the_rest_of_a_pair_is_taken_before_the_next(qtbot, study, desk, player, keeper):
    player.play()
    player.pass_time(3.0)
    keeper.end()
    player.unload()
    player.load(_Pair())
    keeper.begin(desk.pairs[1], LEVELS)
    player.play()
    player.pass_time(2.0)
    close(keeper)
    assert [seconds for _, seconds, _ in written(study)] == [3.0, 2.0]


def test_that_what_was_kept_earlier_today_counts_on(desk, player):
    desk.note_exposure(600.0, 75.0)
    desk.note_exposure(60.0, None)
    keeper = ExposureKeeper(desk, player, read_seat(desk).today)
    assert keeper.today.played_s == 660.0
    keeper.begin(desk.pairs[0], LEVELS)
    player.play()
    player.pass_time(5.0)
    close(keeper)
    assert keeper.today.played_s == 665.0
    assert keeper.today.unknown_s == 60.0


def test_that_a_held_study_holds_up_nobody_and_loses_nothing(qtbot, study, desk, player, keeper):
    problems = []
    keeper.problem_raised.connect(problems.append)

    def refuse(*_stretch):
        raise StudyError("Another program holds the study.", "Close it or wait a moment.")

    real, desk.note_exposure = desk.note_exposure, refuse
    player.play()
    for expected in (0, 1, 1):
        player.pass_time(10.0)
        keeper.keep()
        QThreadPool.globalInstance().waitForDone()
        qtbot.waitUntil(lambda expected=expected: len(problems) == expected)
    desk.note_exposure = real
    close(keeper)
    assert "could not be written" in problems[0].what_happened
    assert "Close it or wait a moment." in problems[0].what_to_do
    assert sum(seconds for _, seconds, _ in written(study)) == 30.0


def test_that_nothing_is_written_after_closing(study, player, keeper):
    player.play()
    player.pass_time(10.0)
    close(keeper)
    player.pass_time(10.0)
    player.pause()
    keeper.keep()
    QThreadPool.globalInstance().waitForDone()
    assert len(written(study)) == 1


class _Pair:
    a = range(100)
    sample_rate_hz = 100


def test_that_a_day_is_counted_over_all_studies_of_this_machine(tmp_path, desk, player):
    ledger = DoseLedger(tmp_path / "dose")
    other = small_study(tmp_path / "other", sets=3)
    ledger.note(desk.evaluator, other, 3600.0, 85.0)
    keeper = ExposureKeeper(desk, player, read_seat(desk, ledger).today, None, lambda: 71.0, ledger)
    assert keeper.today.played_s == 3600.0
    keeper.begin(desk.pairs[0], LEVELS)
    player.play()
    player.pass_time(4.0)
    player.switch()
    player.pass_time(2.0)
    close(keeper)
    # The mean of the session, whichever side was played: the file must not tell them apart.
    assert ledger.today(desk.evaluator, other).stretches == [Played(4.0, 71.0), Played(2.0, None)]
    again = ExposureKeeper(desk, player, read_seat(desk, ledger).today, None, lambda: 71.0, ledger)
    assert again.today.played_s == 3606.0
    other.close()


def test_that_a_ledger_that_cannot_be_written_keeps_nobody_from_listening(
    tmp_path, study, desk, player
):
    (tmp_path / "dose").write_text("a file where the folder should be")
    keeper = ExposureKeeper(
        desk, player, Listened(), None, lambda: 71.0, DoseLedger(tmp_path / "dose")
    )
    keeper.begin(desk.pairs[0], LEVELS)
    player.play()
    player.pass_time(4.0)
    with pytest.raises(StudyError, match="this machine's count"):
        close(keeper)
    assert [seconds for _, seconds, _ in written(study)] == [4.0]
