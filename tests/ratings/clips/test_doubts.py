"""Clips that are hardly right are refused before anybody hears them, or taken by the lead."""

import dataclasses

import numpy as np
import pytest
import soundfile
from studies import raw_database, small_plan, write_noise

from ratings.clips.equaliser import read_equaliser
from ratings.errors import DoubtfulClipError, RecordingError
from ratings.intake.making import make_study


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
    with pytest.raises(DoubtfulClipError, match=r"cabins have 40 to 100") as told:
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
    with pytest.raises(DoubtfulClipError, match=r"The equaliser lifts by 26 dB at most") as told:
        make_study(tmp_path / "study", plan)
    accepted = frozenset([told.value.what_happened])
    make_study(tmp_path / "study", dataclasses.replace(plan, accepted=accepted)).close()


def test_that_uncalibrated_recordings_raise_no_doubt_about_a_level(tmp_path):
    make_study(tmp_path / "study", small_plan(tmp_path / "in")).close()


def with_a_gap(folder, seconds, at_s):
    plan = small_plan(folder)
    for number, each in enumerate(plan.recordings):
        write_noise(each.path, number, seconds)
    samples, rate_hz = soundfile.read(plan.recordings[1].path)
    samples[round(at_s * rate_hz) : round((at_s + 0.01) * rate_hz)] = 0.0
    soundfile.write(plan.recordings[1].path, samples, rate_hz, subtype="PCM_16")
    return plan


def test_that_10_ms_of_lost_signal_within_the_clip_are_named_and_taken_only_when_accepted(tmp_path):
    plan = with_a_gap(tmp_path / "in", 9.0, 4.5)
    with pytest.raises(DoubtfulClipError) as told:
        make_study(tmp_path / "study", plan)
    said = told.value.what_happened
    assert said == "The signal is lost within the clip: 'Birch_1.wav' at 4.50 s."
    assert "Choose another run" in told.value.what_to_do
    assert not (tmp_path / "study").exists()
    accepted = frozenset([said])
    make_study(tmp_path / "study", dataclasses.replace(plan, accepted=accepted)).close()


@pytest.mark.parametrize(("seconds", "at_s"), [(12.0, 4.5), (9.0, 8.8)])
def test_that_the_clips_of_all_sets_are_cut_beside_lost_signal(tmp_path, seconds, at_s):
    study = make_study(tmp_path / "study", with_a_gap(tmp_path / "in", seconds, at_s))
    study.close()
    connection = raw_database(study.folder)
    cuts = connection.execute("SELECT start_s, stop_s FROM clip_source").fetchall()
    connection.close()
    assert len(cuts) > 4
    assert len(set(cuts)) == 1
    start_s, stop_s = cuts[0]
    assert stop_s - start_s >= 5.0
    assert stop_s <= at_s or start_s >= at_s + 0.01
