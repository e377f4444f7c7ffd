"""Levels that are hardly right are refused before anybody hears them, or taken by the lead."""

import dataclasses

import numpy as np
import pytest
import soundfile
from studies import small_plan

from ratings.errors import DoubtfulLevelError, RecordingError
from ratings.recordings.clips.equaliser import read_equaliser
from ratings.storage.making import make_study


def with_factors(plan, *factors):
    recordings = tuple(
        dataclasses.replace(recording, pa_per_full_scale=factor)
        for recording, factor in zip(plan.recordings, factors, strict=True)
    )
    return dataclasses.replace(plan, recordings=recordings)


def test_that_a_factor_wrong_by_1000_is_refused_and_nothing_is_made(tmp_path):
    plan = with_factors(small_plan(tmp_path / "in"), 20.0, 0.02)
    # Whatever the lead accepts: no player would play it.
    plan = dataclasses.replace(plan, accepted=frozenset(["anything"]))
    with pytest.raises(RecordingError, match=r"is 60 dB louder than .* in the same condition"):
        make_study(tmp_path / "study", plan)
    assert not (tmp_path / "study").exists()


@pytest.mark.parametrize(("factor", "level"), [(2000.0, 133), (0.001, 7)])
def test_that_an_implausible_cabin_is_taken_only_when_the_lead_accepts_it(tmp_path, factor, level):
    plan = with_factors(small_plan(tmp_path / "in"), factor, factor)
    with pytest.raises(DoubtfulLevelError, match=r"cabins have 40 to 100") as told:
        make_study(tmp_path / "study", plan)
    said = int(told.value.what_happened.split(" has ")[1].split()[0])
    assert abs(said - level) <= 3
    accepted = frozenset([told.value.what_happened])
    make_study(tmp_path / "study", dataclasses.replace(plan, accepted=accepted)).close()


def test_that_an_equaliser_of_much_gain_is_taken_only_when_the_lead_accepts_it(tmp_path):
    taps = np.zeros((64, 1))
    taps[32] = 10 ** (26 / 20)
    soundfile.write(tmp_path / "strong.wav", taps, 8000, subtype="DOUBLE")
    assert read_equaliser(tmp_path / "strong.wav").highest_gain_db == pytest.approx(26.0)
    plan = small_plan(tmp_path / "in")
    plan = dataclasses.replace(plan, equaliser=tmp_path / "strong.wav", clip_gain_db=-30.0)
    with pytest.raises(DoubtfulLevelError, match=r"The equaliser lifts by 26 dB at most") as told:
        make_study(tmp_path / "study", plan)
    accepted = frozenset([told.value.what_happened])
    make_study(tmp_path / "study", dataclasses.replace(plan, accepted=accepted)).close()


def test_that_uncalibrated_recordings_raise_no_doubt_about_a_level(tmp_path):
    make_study(tmp_path / "study", small_plan(tmp_path / "in")).close()
