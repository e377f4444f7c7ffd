"""A study of two sets and two conditions, and the lead's desk for its runs."""

import pytest
from studies import Clock, small_study

from ratings.storage.recording_desk import RecordingDesk


@pytest.fixture
def study(tmp_path):
    study = small_study(tmp_path, sets=2, conditions=2)
    yield study
    study.close()


@pytest.fixture
def desk(study):
    return RecordingDesk(study, Clock())
