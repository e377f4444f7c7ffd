"""The clips of a study: one window and one loop for all sets, one equaliser, levels kept."""

import dataclasses
import math
import shutil
import sqlite3

import h5py
import numpy as np
import pytest
import soundfile
from studies import nth_id, raw_database, small_plan, write_noise

from ratings.clips.loop_points import seam_level_db
from ratings.errors import DesignError, FullScaleError, RecordingError, StudyError
from ratings.intake.making import make_study
from ratings.storage.blind_study import StudyFolder
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.mending import restore_clips
from ratings.storage.recording_desk import RecordingDesk
from ratings.storage.study_folder import open_study
from ratings.study.runs import ChannelSetting, ConstantSpeed, SpeedFile

RATE_HZ = 8000


def long_plan(folder, seconds=10.0, **wanted):
    """Plan a study of recordings that are long enough for a loop."""
    plan = small_plan(folder, **wanted)
    for number, recording in enumerate(plan.recordings):
        write_noise(recording.path, 50 + number, seconds)
    return plan


def made(path, plan):
    make_study(path, plan).close()
    return path


def rows(path):
    """Give code, set, condition, stretch, equaliser, remarks and recording of the clips.

    One of each recording: its other clips are copies.
    """
    connection = raw_database(StudyFolder(path))
    connection.row_factory = sqlite3.Row
    found = connection.execute(
        "SELECT clip.code, clip.frames, clip.pa_per_full_scale, recording.set_id, "
        "recording.condition_id, start_s, stop_s, gain_db, equaliser, remarks, stored_name, "
        "mask_step "
        "FROM clip JOIN clip_source USING (clip_id) JOIN recording USING (recording_id) "
        "WHERE clip_id IN (SELECT MIN(clip_id) FROM clip_source GROUP BY recording_id) "
        "ORDER BY recording.set_id, recording.condition_id"
    ).fetchall()
    connection.close()
    return found


def clip(path, row):
    return soundfile.read(path / "clips" / f"{row['code']}.wav")[0]


def is_same(heard, wanted, row):
    """Tell whether a clip is what it should be but for its noise."""
    error = (heard - wanted) * 2**23
    # Two triangular noises at most, and the rounding to 24 bits.
    return np.abs(error).max() <= math.sqrt(2) * row["mask_step"] + 0.51


def contents(path):
    return {file.name: file.read_bytes() for file in (path / "clips").iterdir()}


@pytest.mark.slow
def test_that_all_sets_of_a_condition_are_cut_to_one_loop(tmp_path):
    study = made(tmp_path / "study", long_plan(tmp_path / "in", sets=3))
    found = rows(study)
    (stretch,) = {(row["start_s"], row["stop_s"]) for row in found}
    assert 5.0 <= stretch[1] - stretch[0] < 8.0
    assert all("cut to a loop of" in row["remarks"] for row in found)
    assert len({file.stat().st_size for file in (study / "clips").iterdir()}) == 1
    for row in found:
        whole, _ = soundfile.read(study / "lead" / "recordings" / row["stored_name"])
        first = round(stretch[0] * RATE_HZ)
        assert is_same(clip(study, row), whole[first : first + row["frames"]], row)


@pytest.mark.slow
def test_that_the_seam_of_the_worst_set_is_better_than_that_of_the_whole_window(tmp_path):
    study = made(tmp_path / "study", long_plan(tmp_path / "in", sets=3))

    def worst_db(sounds):
        return max(seam_level_db(sound, RATE_HZ, 0, len(sound)) for sound in sounds)

    found = rows(study)
    wholes = [
        soundfile.read(study / "lead" / "recordings" / row["stored_name"])[0] for row in found
    ]
    # The window by time: 8 s from the middle of 10 s.
    windows = [whole[RATE_HZ : 9 * RATE_HZ] for whole in wholes]
    looped_db = worst_db([clip(study, row) for row in found])
    assert looped_db < worst_db(windows) - 0.5
    assert looped_db < 0.0


@pytest.mark.slow
def test_that_a_coast_down_keeps_most_of_its_way(tmp_path):
    study = made(tmp_path / "study", long_plan(tmp_path / "in", 14.0, conditions=2))
    for row in rows(study):
        least_s = 10.0 if row["condition_id"] == 2 else 5.0
        longest_s = 12.0 if row["condition_id"] == 2 else 8.0
        assert least_s <= row["frames"] / RATE_HZ <= longest_s


def test_that_a_short_recording_is_heard_whole_and_says_so(tmp_path):
    study = made(tmp_path / "study", small_plan(tmp_path / "in"))
    for row in rows(study):
        assert row["remarks"] == "whole window: too short for a loop of 5 s"
        assert (row["start_s"], row["stop_s"]) == (0.0, 2.5)


@pytest.mark.slow
def test_that_the_same_plan_gives_the_same_clips(tmp_path):
    plan = long_plan(tmp_path / "in", sets=3)
    first, second = (made(tmp_path / name, plan) for name in ("first", "second"))
    assert contents(first) == contents(second)
    assert [tuple(row) for row in rows(first)] == [tuple(row) for row in rows(second)]


def write_trace(path, times_s, speeds_km_h):
    lines = [f"{time_s:g},{speed:g}" for time_s, speed in zip(times_s, speeds_km_h, strict=True)]
    path.write_text("\n".join(["time_s,speed_km_h", *lines]) + "\n", encoding="utf-8")
    return path


def with_speeds(plan, traces):
    """Give each recording a file with its trace; None for none."""
    recordings = tuple(
        dataclasses.replace(
            recording,
            speed=trace and SpeedFile(write_trace(recording.path.with_suffix(".csv"), *trace)),
        )
        for recording, trace in zip(plan.recordings, traces, strict=True)
    )
    return dataclasses.replace(plan, recordings=recordings)


def held_from_to(start_s, stop_s):
    """Hold 80 km/h over a stretch of a run of 20 s, and drive 5 km/h faster around it."""
    edges_s = (0.0, start_s - 0.5, start_s, stop_s, stop_s + 0.5, 20.0)
    times_s = np.arange(0.0, 20.05, 0.1)
    return times_s, np.interp(times_s, edges_s, (85.0, 85.0, 80.5, 80.5, 85.0, 85.0))


@pytest.mark.slow
def test_that_a_steady_window_lies_where_each_set_holds_the_speed(tmp_path):
    plan = long_plan(tmp_path / "in", 20.0)
    # Middles at 12 s and at 7 s.
    plan = with_speeds(plan, [held_from_to(6.0, 18.0), held_from_to(2.0, 12.0)])
    study = made(tmp_path / "study", plan)
    first, second = rows(study)
    assert first["frames"] == second["frames"]
    # Held within 1 km/h a little before and after: 0.5 km/h of 4.5 km/h in 0.5 s.
    assert first["start_s"] - second["start_s"] == pytest.approx(5.0, abs=0.06)
    for row, middle_s in ((first, 12.0), (second, 7.0)):
        assert middle_s - 4.1 <= row["start_s"] < row["stop_s"] <= middle_s + 4.1
        assert "window by speed: within 1 km/h of 80 km/h" in row["remarks"]


@pytest.mark.slow
def test_that_a_coast_down_begins_at_the_same_speed_for_all_sets(tmp_path):
    plan = long_plan(tmp_path / "in", 30.0, conditions=2)
    coasts = {2: ((0.0, 30.0), (86.0, 26.0)), 1: ((0.0, 30.0), (82.0, 37.0))}
    traces = [coasts[r.set_id] if r.condition_id == 2 else None for r in plan.recordings]
    study = made(tmp_path / "study", with_speeds(plan, traces))
    first, second = (row for row in rows(study) if row["condition_id"] == 2)
    # Set 1 passes 80 km/h after 2 / 1.5 s, set 2 after 6 / 2 s.
    assert second["start_s"] - first["start_s"] == pytest.approx(3.0 - 2 / 1.5, abs=0.001)
    assert first["frames"] == second["frames"]
    assert "window by speed: from 80 km/h downwards" in first["remarks"]
    steady = [row for row in rows(study) if row["condition_id"] == 1]
    assert not any("by speed" in row["remarks"] for row in steady)


def test_that_windows_are_by_time_when_one_set_has_no_trace(tmp_path):
    plan = with_speeds(long_plan(tmp_path / "in", 20.0), [held_from_to(6.0, 18.0), None])
    first, second = rows(made(tmp_path / "study", plan))
    assert first["start_s"] == second["start_s"]
    assert not any("by speed" in row["remarks"] for row in (first, second))


def test_that_the_speed_is_kept_with_the_run(tmp_path):
    plan = long_plan(tmp_path / "in", 20.0)
    plan = with_speeds(plan, [held_from_to(6.0, 18.0), held_from_to(2.0, 12.0)])
    study = open_study(made(tmp_path / "study", plan))
    desk = RecordingDesk(study)
    for number, recording in enumerate(plan.recordings, start=1):
        kept = desk.speed_source(nth_id(study.folder, "recording", number))
        assert kept.path.read_bytes() == recording.speed.path.read_bytes()
        assert kept.path.parent == study.folder.recordings
        assert recording.path.stem not in kept.path.name
    study.close()


@pytest.mark.parametrize(
    ("trace", "message"),
    [
        (((0.0, 20.0), (70.0, 70.0)), r"'Birch_1.wav', coarse asphalt, 80 km/h: The speed keeps"),
        (
            ((30.0, 50.0), (80.0, 80.0)),
            r"'Birch_1.wav' from 0 to 20.0 s: they have no time in common",
        ),
        (((0.0, 20.0), (80.0, -1.0)), r"'Birch_1.csv': the speed at 20.000 s is below zero"),
    ],
)
def test_that_a_trace_of_no_use_is_told_with_its_recording(tmp_path, trace, message):
    plan = with_speeds(long_plan(tmp_path / "in", 20.0), [held_from_to(6.0, 18.0), trace])
    with pytest.raises(RecordingError, match=message):
        make_study(tmp_path / "study", plan)
    assert not (tmp_path / "study").exists()


def test_that_a_speed_said_as_one_number_counts_as_a_trace(tmp_path):
    plan = long_plan(tmp_path / "in")
    recordings = tuple(
        dataclasses.replace(each, speed=ConstantSpeed(80.0)) for each in plan.recordings
    )
    study = made(tmp_path / "study", dataclasses.replace(plan, recordings=recordings))
    assert all("window by speed" in row["remarks"] for row in rows(study))


def with_taps(plan, taps, name="phones.csv"):
    path = plan.recordings[0].path.with_name(name)
    np.savetxt(path, taps, delimiter=",")
    return dataclasses.replace(plan, equaliser=path)


def test_that_the_equaliser_is_kept_and_applied_to_all_clips_alike(tmp_path):
    plan = with_taps(long_plan(tmp_path / "in"), [0.5])
    study = made(tmp_path / "study", plan)
    (kept,) = (study / "lead" / "equalisers").iterdir()
    assert kept.read_bytes() == plan.equaliser.read_bytes()
    for row in rows(study):
        assert kept.name.startswith(row["equaliser"][:20])
        assert "equaliser" in row["remarks"]
        whole, _ = soundfile.read(study / "lead" / "recordings" / row["stored_name"])
        first = round(row["start_s"] * RATE_HZ)
        assert is_same(clip(study, row), whole[first : first + row["frames"]] / 2, row)


def test_that_an_equaliser_that_would_clip_is_refused_with_its_decibels(tmp_path):
    plan = with_taps(long_plan(tmp_path / "in"), [8.0])
    peak = max(np.abs(soundfile.read(r.path)[0][RATE_HZ:-RATE_HZ]).max() for r in plan.recordings)
    over_db = math.ceil(200 * math.log10(8 * peak)) / 10
    with pytest.raises(FullScaleError, match="2 of 2 clips would exceed full scale") as refusal:
        make_study(tmp_path / "study", plan)
    assert f"the loudest by {over_db:.1f} dB" in refusal.value.what_happened
    assert "phones.csv" in refusal.value.what_happened
    assert f"Lower all clips of the study by {over_db:.1f} dB" in refusal.value.what_to_do
    assert refusal.value.over_db == pytest.approx(over_db)
    assert not (tmp_path / "study").exists()
    lowered = made(tmp_path / "study", dataclasses.replace(plan, clip_gain_db=-over_db))
    peaks = [np.abs(clip(lowered, row)).max() for row in rows(lowered)]
    assert 0.98 < max(peaks) <= 1.0


def test_that_lowered_clips_of_calibrated_recordings_keep_their_true_level(tmp_path):
    plan = long_plan(tmp_path / "in")
    plan = dataclasses.replace(
        plan,
        recordings=tuple(
            dataclasses.replace(each, pa_per_full_scale=factor)
            for each, factor in zip(plan.recordings, (20.0, 10.0), strict=True)
        ),
    )
    as_recorded = made(tmp_path / "as_recorded", plan)
    lowered = made(tmp_path / "lowered", dataclasses.replace(plan, clip_gain_db=-6.0))
    for before, after in zip(rows(as_recorded), rows(lowered), strict=True):
        assert after["gain_db"] == pytest.approx(before["gain_db"] - 6.0)
        factor = after["pa_per_full_scale"] / before["pa_per_full_scale"]
        assert factor == pytest.approx(10 ** (6 / 20))
        in_pascal = [
            clip(where, row) * row["pa_per_full_scale"]
            for where, row in ((as_recorded, before), (lowered, after))
        ]
        # Each within the noise of one step of 16 bits.
        np.testing.assert_allclose(*in_pascal, atol=20.0 * 2 * 2**-15)


@pytest.mark.parametrize("gain_db", [0.1, -60.1, math.nan])
def test_that_clips_are_never_made_louder_nor_lost_in_the_last_bits(tmp_path, gain_db):
    plan = dataclasses.replace(small_plan(tmp_path / "in"), clip_gain_db=gain_db)
    with pytest.raises(DesignError, match="The clips cannot be made at a gain"):
        make_study(tmp_path / "study", plan)


def test_that_an_equaliser_that_is_none_is_refused_by_its_own_name(tmp_path):
    plan = long_plan(tmp_path / "in")
    bad = tmp_path / "in" / "phones.csv"
    bad.write_text("left,right\n1,1\n", encoding="utf-8")
    with pytest.raises(RecordingError, match=r"The equaliser 'phones.csv', line 1: "):
        make_study(tmp_path / "study", dataclasses.replace(plan, equaliser=bad))


def involved_plan(folder):
    """Loop, equaliser with a delay, two rates, gain, and one channel in both ears."""
    rng = np.random.default_rng(3)
    plan = with_taps(long_plan(folder), rng.normal(size=(300, 2)) * 0.03)
    write_noise(plan.recordings[1].path, 9, 10.0, rate_hz=11_025)
    factors = (20.0, 12.0)
    recordings = tuple(
        dataclasses.replace(each, left_channel=1, right_channel=1, pa_per_full_scale=factor)
        for each, factor in zip(plan.recordings, factors, strict=True)
    )
    return dataclasses.replace(plan, recordings=recordings)


@pytest.mark.slow
def test_that_mending_gives_the_very_same_clips(tmp_path):
    path = made(tmp_path / "study", involved_plan(tmp_path / "in"))
    assert all("cut to a loop" in row["remarks"] for row in rows(path))
    before = contents(path)
    shutil.rmtree(tmp_path / "in")
    moved = path.rename(tmp_path / "moved")
    shutil.rmtree(moved / "clips")
    study = open_study(moved)
    assert restore_clips(study) == 6
    study.close()
    assert contents(moved) == before


@pytest.mark.slow
@pytest.mark.parametrize(
    ("harm", "message"),
    [
        (lambda file: file.unlink(), r"misses clip \d{6} and the equaliser it was run through"),
        (lambda file: file.write_text("1\n"), r"is missing or damaged, and cannot be cut again"),
    ],
)
def test_that_a_lost_or_exchanged_equaliser_is_told(tmp_path, harm, message):
    path = made(tmp_path / "study", with_taps(long_plan(tmp_path / "in"), [0.5]))
    (kept,) = (path / "lead" / "equalisers").iterdir()
    harm(kept)
    shutil.rmtree(path / "clips")
    study = open_study(path)
    with pytest.raises(StudyError, match=message):
        restore_clips(study)
    study.close()
    assert not list(path.glob("clips/*.wav"))


def in_pascal(recording, factor=20.0, units=("Pa", "Pa")):
    """Write a recording again as a measurement file with a unit for each channel."""
    samples, rate_hz = soundfile.read(recording.path)
    path = recording.path.with_suffix(".h5")
    with h5py.File(path, "w") as file:
        data = file.create_dataset("pressure", data=factor * samples)
        data.attrs["unit"] = list(units)
        data.attrs["sample_rate_hz"] = rate_hz
    return dataclasses.replace(recording, path=path)


def test_that_recordings_above_one_pascal_keep_their_level(tmp_path):
    plan = long_plan(tmp_path / "in")
    wholes = [20 * soundfile.read(each.path)[0] for each in plan.recordings]
    recordings = tuple(in_pascal(each) for each in plan.recordings)
    study = made(tmp_path / "study", dataclasses.replace(plan, recordings=recordings))
    assert LeadDesk(open_study(study)).study.seed == plan.seed
    for row, whole_pa in zip(rows(study), wholes, strict=True):
        assert np.abs(whole_pa).max() > 1.0
        first = round(row["start_s"] * RATE_HZ)
        wanted = whole_pa[first : first + row["frames"]] / row["pa_per_full_scale"]
        assert is_same(clip(study, row), wanted, row)


def test_that_only_some_files_in_pascal_are_refused(tmp_path):
    plan = long_plan(tmp_path / "in")
    recordings = (in_pascal(plan.recordings[0]), plan.recordings[1])
    with pytest.raises(DesignError, match="1 of 2 recordings are calibrated"):
        make_study(tmp_path / "study", dataclasses.replace(plan, recordings=recordings))


def test_that_ears_in_different_units_are_refused(tmp_path):
    plan = long_plan(tmp_path / "in")
    recordings = tuple(in_pascal(each, units=("Pa", "mPa")) for each in plan.recordings)
    with pytest.raises(RecordingError, match=r"'Maple_1.h5' gives channel 1 and channel 2 in diff"):
        make_study(tmp_path / "study", dataclasses.replace(plan, recordings=recordings))


def test_that_a_factor_with_words_is_that_of_the_ears_alone(tmp_path):
    plan = long_plan(tmp_path / "in")
    for recording in plan.recordings:
        samples, rate_hz = soundfile.read(recording.path)
        soundfile.write(recording.path, np.hstack([samples, samples[:, :1]]), rate_hz)
    words = "tone of 94 dB, before only"
    recordings = tuple(
        dataclasses.replace(each, right_channel=2, pa_per_full_scale=12.0, calibration=words)
        for each in plan.recordings
    )
    study = open_study(made(tmp_path / "study", dataclasses.replace(plan, recordings=recordings)))
    assert RecordingDesk(study).channel_settings(nth_id(study.folder, "recording")) == (
        ChannelSetting("driver left ear", 12.0, words),
        ChannelSetting("not used"),
        ChannelSetting("driver right ear", 12.0, words),
    )
    study.close()
