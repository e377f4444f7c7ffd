"""Further runs of the sample study: repeats of one drive, and what the lead says of them."""

import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from ratings.storage.recording_desk import RecordingDesk
from ratings.storage.study_folder import open_study
from ratings.study.runs import Tread
from ratings.synthesis.sample_study import SAMPLE_STUDY, recording, speed_trace_km_h

SAMPLE = Path(__file__).resolve().parents[3] / "sample_sessions" / "alder_wagon"
SHORT = replace(
    SAMPLE_STUDY,
    conditions=tuple(replace(each, duration_s=3.0) for each in SAMPLE_STUDY.conditions),
)
COARSE = "coarse asphalt, 80 km/h"


@pytest.fixture
def desk(tmp_path):
    study = open_study(Path(shutil.copytree(SAMPLE, tmp_path / "sample")))
    yield RecordingDesk(study)
    study.close()


@pytest.mark.slow
def test_that_another_run_is_another_drive_of_about_the_same_level():
    first, second, again = (recording(SHORT, "Maple", "coarse_80", n) for n in (1, 2, 2))
    assert np.array_equal(second.pressure_pa, again.pressure_pa)
    assert not np.allclose(first.pressure_pa, second.pressure_pa)
    level_db = [10 * np.log10(np.mean(each.pressure_pa**2)) for each in (first, second)]
    assert abs(level_db[1] - level_db[0]) < 1.5


def test_that_runs_scatter_around_the_wanted_speed():
    held = [speed_trace_km_h(SAMPLE_STUDY, "Maple", "coarse_80", n).mean() for n in range(1, 30)]
    assert abs(np.mean(held) - 80.0) < 0.2
    assert 0.15 < np.std(held[1:]) < 0.5


def test_that_every_set_was_driven_three_times_on_coarse_asphalt_and_once_elsewhere(desk):
    counts = {}
    for run in desk.runs():
        key = run.set_code, run.condition.title
        counts[key] = counts.get(key, 0) + 1
    assert len(counts) == 12
    assert {count for (_, title), count in counts.items() if title == COARSE} == {3}
    assert {count for (_, title), count in counts.items() if title != COARSE} == {1}


def test_that_all_runs_are_level_true_with_ears_and_speed(desk):
    runs = desk.runs()
    assert all(run.is_level_true and run.has_speed for run in runs)
    assert {run.roles for run in runs} == {("driver left ear", "driver right ear")}
    assert set(desk.treads().values()) == {Tread("205/55R16", 64)}


def test_that_the_sample_study_takes_at_most_eight_megabytes():
    assert sum(path.stat().st_size for path in SAMPLE.rglob("*") if path.is_file()) <= 8e6
