"""A study of two sets and two conditions, and the lead's desk for its runs."""

import pytest
from studies import Clock, raw_database, small_study

from ratings.storage.recording_desk import RecordingDesk


@pytest.fixture
def study(tmp_path):
    study = small_study(tmp_path, sets=2, conditions=2)
    yield study
    study.close()


@pytest.fixture
def desk(study):
    return RecordingDesk(study, Clock())


@pytest.fixture
def ids(study):
    """Return the ids of the recordings, in the order in which the study got them."""
    raw = raw_database(study.folder)
    found = [row[0] for row in raw.execute("SELECT recording_id FROM recording ORDER BY 1")]
    raw.close()
    return found


@pytest.fixture
def first(ids):
    return ids[0]
