"""Only the speed while the sound lasts decides how a run is measured."""

import numpy as np
import pytest
from known_recordings import FULL_SCALE_PA, noise_pa

from ratings.errors import RecordingError
from ratings.measuring.measure import measure
from ratings.measuring.settings import MeasuringSettings
from ratings.study.speed_trace import SpeedTrace
from ratings.study.tyre_size import tyre_size

TYRE = tyre_size("205/55R16")


def settings(times_s: list[float], speed_km_h: list[float]) -> MeasuringSettings:
    return MeasuringSettings(tyre=TYRE, speed=SpeedTrace(np.array(times_s), np.array(speed_km_h)))


@pytest.mark.slow
def test_that_run_up_and_braking_do_not_move_the_predicted_cavity_lines(write) -> None:
    path = write(noise_pa(60, 6, 48_000))
    whole = settings([-30, -1, 7, 40], [0, 80, 80, 0])
    alone = settings([0, 6], [80, 80])
    found, expected = (measure(path, each, [FULL_SCALE_PA]).prediction for each in (whole, alone))
    assert found is not None
    assert expected is not None
    assert found.lines_hz == pytest.approx(expected.lines_hz, abs=1e-6)
    assert len(found.lines_hz) == 2


def test_that_a_coast_down_is_known_as_one_behind_its_run_up(write) -> None:
    path = write(noise_pa(60, 10, 48_000))
    found = measure(path, settings([-20, -1, 0, 10, 20], [0, 102, 100, 60, 0]), [FULL_SCALE_PA])
    assert found.coast_down is not None
    assert found.settings.is_coast_down
    np.testing.assert_allclose(found.settings.speed.speed_km_h[[0, -1]], [100, 60])


def test_that_an_acceleration_is_told_and_not_measured_at_its_mean_speed(write) -> None:
    found = measure(write(noise_pa(60, 6, 48_000)), settings([0, 6], [50, 90]), [FULL_SCALE_PA])
    assert found.coast_down is None
    assert found.settings.steady_speed_km_h is None
    assert any("between 50.0 and 90.0 km/h" in remark.sentence for remark in found.remarks)


def test_that_a_trace_of_another_time_is_refused(write) -> None:
    with pytest.raises(RecordingError, match="they have no time in common"):
        measure(write(noise_pa(60, 2, 48_000)), settings([1000, 1002], [80, 80]))


def test_that_a_file_written_to_meanwhile_is_refused(write) -> None:
    path = write(noise_pa(60, 2, 48_000))

    def touch(_part: float, _words: str) -> None:
        with path.open("ab") as stream:
            stream.write(b"more")

    with pytest.raises(RecordingError, match="was changed while it was read"):
        measure(path, MeasuringSettings(), [FULL_SCALE_PA], progress=touch)
