import sqlite3

import numpy as np
import pytest
from captured_card import PacedCard
from studies import small_study

from app.listening.exposure_keeper import ExposureKeeper
from app.playback.dose import Listened
from app.playback.pair import LoadedPair
from app.playback.player import Player
from ratings.storage.listening_desk import ListeningDesk, session_seats

pytestmark = pytest.mark.card

RATE_HZ = 48000


@pytest.fixture
def study(tmp_path):
    study = small_study(tmp_path)
    yield study
    study.close()


@pytest.fixture
def one_sided_pair(noise) -> LoadedPair:
    """A sounds on the left only and B on the right only, so that the capture tells them apart."""
    a, b = noise(1.0, 1), noise(1.0, 2)
    a[:, 1] = 0.0
    b[:, 0] = 0.0
    return LoadedPair(a, b, RATE_HZ, 0.8, 0.5)


def written_s(study):
    raw = sqlite3.connect(study.folder.database)
    rows = raw.execute("SELECT seconds FROM exposure").fetchall()
    raw.close()
    return sum(seconds for (seconds,) in rows)


def test_that_the_seconds_counted_are_those_that_reached_the_card(
    qtbot, player: Player, card: PacedCard, only_devices, one_sided_pair, study
) -> None:
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    keeper = ExposureKeeper(desk, player, Listened())
    only_devices(paced=card.fifo)
    player.set_looping(True)
    player.use_device("paced")
    player.load(one_sided_pair)
    keeper.begin(desk.pairs[0], {"A": 70.0, "B": 76.0})
    player.play()
    qtbot.waitUntil(lambda: player.played_s("A") > 2.2, timeout=20000)
    player.switch()
    qtbot.waitUntil(lambda: player.played_s("B") > 1.3, timeout=20000)
    player.pause()
    silent_from = len(card.captured())
    qtbot.waitUntil(lambda: len(card.captured()) > silent_from + RATE_HZ, timeout=20000)
    player.play()
    qtbot.waitUntil(lambda: player.played_s("B") > 2.0, timeout=20000)
    keeper.end()
    player.unload()
    keeper.close()
    keeper.write_rest()
    player.close()
    card.finish()
    reached_s = np.count_nonzero(card.captured(), axis=0) / RATE_HZ
    assert reached_s[0] > 2.0
    assert written_s(study) == pytest.approx(reached_s.sum(), abs=0.4)
