"""The first seat of a test's study, and a player that makes no sound."""

import pytest
from quiet_player import QuietPlayer
from studies import Clock

from ratings.storage.listening_desk import ListeningDesk, session_seats


@pytest.fixture
def desk(study):
    return ListeningDesk(study, session_seats(study)[0].session_id, Clock())


@pytest.fixture
def player(qapp):
    return QuietPlayer()
