"""Of a speed trace, what was driven while the recording ran counts."""

from pathlib import Path

import numpy as np
import pytest

from ratings.errors import RecordingError
from ratings.recordings.speed.record import within_recording
from ratings.study.speed_trace import SpeedTrace

RUN = Path("run.wav")


def test_that_the_way_there_and_back_is_left_out() -> None:
    trace = SpeedTrace(np.array([-10.0, -2.0, 4.0, 12.0]), np.array([0.0, 80.0, 86.0, 6.0]))
    cut = within_recording(trace, RUN, 8.0)
    np.testing.assert_allclose(cut.times_s, [0.0, 4.0, 8.0])
    np.testing.assert_allclose(cut.speed_km_h, [82.0, 86.0, 46.0])


def test_that_nothing_is_invented_where_the_trace_is_shorter() -> None:
    trace = SpeedTrace(np.array([1.0, 2.0, 3.0]), np.array([80.0, 81.0, 82.0]))
    cut = within_recording(trace, RUN, 8.0)
    np.testing.assert_array_equal(cut.times_s, trace.times_s)
    np.testing.assert_array_equal(cut.speed_km_h, trace.speed_km_h)


@pytest.mark.parametrize("shift_s", [-3.0, 8.0, 40_000.0])
def test_that_a_trace_of_another_time_is_refused(shift_s: float) -> None:
    trace = SpeedTrace(np.array([0.0, 3.0]) + shift_s, np.array([80.0, 80.0]))
    with pytest.raises(RecordingError, match=r"'run.wav' from 0 to 8.0 s: they have no time"):
        within_recording(trace, RUN, 8.0)
