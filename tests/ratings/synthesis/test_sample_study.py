import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import soundfile

from ratings.synthesis.sample_study import (
    PA_PER_FULL_SCALE,
    SAMPLE_RATE_HZ,
    SAMPLE_STUDY,
    attribute_changes_db,
    recording,
    speed_trace_km_h,
)
from ratings.synthesis.sketch import SketchError

# Recordings of half a minute are made and measured.
pytestmark = pytest.mark.slow

SHORT = replace(
    SAMPLE_STUDY,
    conditions=tuple(replace(each, duration_s=3.0) for each in SAMPLE_STUDY.conditions),
)


def test_that_the_control_differs_from_nothing_and_each_candidate_from_it() -> None:
    changes_db = {each.name: attribute_changes_db(each.tyre) for each in SAMPLE_STUDY.sets}
    changed = {name for name, each_db in changes_db.items() if any(each_db.values())}
    assert [each.name for each in SAMPLE_STUDY.sets if each.is_control] == ["Maple"]
    assert changed == {"Birch", "Larch", "Rowan"}
    assert changes_db["Birch"]["cavity_ring"] == -5.0


def test_that_vehicle_and_maker_are_said_to_be_invented() -> None:
    for text in (SAMPLE_STUDY.name, SAMPLE_STUDY.vehicle.name, SAMPLE_STUDY.maker):
        assert re.search("invented", text)


def test_that_a_recording_comes_out_the_same_twice_and_has_its_length() -> None:
    first = recording(SHORT, "Birch", "coarse_80")
    second = recording(SHORT, "Birch", "coarse_80")
    assert first.pressure_pa.shape == (3 * SAMPLE_RATE_HZ, 2)
    assert np.array_equal(first.pressure_pa, second.pressure_pa)


def test_that_two_sets_meet_the_same_road_but_not_at_the_same_sample() -> None:
    maple = recording(SHORT, "Maple", "coarse_80").pressure_pa[:, 0]
    birch = recording(SHORT, "Birch", "coarse_80").pressure_pa[:, 0]
    assert not np.allclose(maple, birch)
    # A start mark missed by up to 6 m is a quarter of a second: there the road is found again.
    spectra = np.fft.rfft(np.stack([maple, birch]), n=2 * maple.size)
    alike = np.fft.irfft(spectra[0] * spectra[1].conj()) / (maple.std() * birch.std() * maple.size)
    reach = round(0.3 * SAMPLE_RATE_HZ)
    assert max(alike[:reach].max(), alike[-reach:].max()) > 0.5


def test_that_the_coast_down_lasts_twelve_seconds_from_80_to_40() -> None:
    trace = speed_trace_km_h(SAMPLE_STUDY, "Rowan", "coast_80_40")
    assert trace.size == 1201
    assert (trace[0], trace[-1]) == (pytest.approx(80.0), pytest.approx(40.0))
    assert all(later < earlier for earlier, later in pairwise(trace))


@pytest.mark.parametrize(("set_name", "condition"), [("Oak", "coarse_80"), ("Maple", "ice_20")])
def test_that_a_name_that_is_not_in_the_study_is_refused(set_name: str, condition: str) -> None:
    with pytest.raises(SketchError, match="has no"):
        recording(SAMPLE_STUDY, set_name, condition)


@pytest.mark.slow
def test_that_all_recordings_fit_into_16_bit_and_13_megabytes(tmp_path: Path) -> None:
    total = 0
    for condition in SAMPLE_STUDY.conditions:
        for each in SAMPLE_STUDY.sets:
            made = recording(SAMPLE_STUDY, each.name, condition.key)
            frames = round(condition.duration_s * SAMPLE_RATE_HZ)
            assert made.pressure_pa.shape == (frames, 2)
            samples = made.pressure_pa / PA_PER_FULL_SCALE
            assert np.abs(samples).max() < 0.5
            path = tmp_path / f"{each.name}_{condition.key}.flac"
            soundfile.write(path, samples, made.sample_rate_hz, subtype="PCM_16")
            total += path.stat().st_size
    assert total < 13e6
