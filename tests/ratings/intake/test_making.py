import dataclasses
import os
import signal
import subprocess
import sys

import h5py
import numpy as np
import pytest
import soundfile
from studies import raw_database, small_plan, small_study, write_noise

from ratings.acoustics.levels import clip_levels
from ratings.errors import Cancelled, DesignError, RecordingError, StudyError
from ratings.intake import taking_in
from ratings.intake.making import make_study
from ratings.recordings.read import describe, read_sound
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.recording_desk import RecordingDesk
from ratings.storage.study_folder import open_study
from ratings.study.attributes import DEFAULT_ATTRIBUTES
from ratings.study.runs import ChannelSetting, SpeedFile
from ratings.study.sets import TyreSet


def test_that_a_made_study_opens_again_with_its_cover_and_sessions(tmp_path):
    made = small_study(tmp_path)
    made.close()
    study = open_study(tmp_path / "study")
    assert study.facts.name == "Alder wagon, week 31"
    assert study.seed == 7
    assert [a.key for a in study.attributes] == ["boom", "rumble"]
    assert [(s.evaluator.code, s.evaluator.name, s.pair_count) for s in session_seats(study)] == [
        ("E1", "Ada", 3),
        ("E2", "Bo", 3),
    ]


def test_that_originals_are_copied_bit_for_bit_and_left_alone(tmp_path):
    plan = small_plan(tmp_path / "in")
    before = {r.path.read_bytes() for r in plan.recordings}
    make_study(tmp_path / "study", plan)
    assert {
        f.read_bytes() for f in (tmp_path / "study" / "lead" / "recordings").iterdir()
    } == before
    assert {r.path.read_bytes() for r in plan.recordings} == before


def test_that_a_recording_that_changes_meanwhile_is_refused_and_nothing_is_made(
    tmp_path, monkeypatch
):
    plan = small_plan(tmp_path / "in")

    def described_and_then_changed(path):
        facts = describe(path)
        path.write_bytes(path.read_bytes() + b"more")
        return facts

    monkeypatch.setattr(taking_in, "describe", described_and_then_changed)
    with pytest.raises(RecordingError, match="changed while the study was being made"):
        make_study(tmp_path / "study", plan)
    assert not (tmp_path / "study").exists()


def test_that_one_trace_may_serve_two_recordings(tmp_path):
    trace = tmp_path / "trace.csv"
    trace.write_text("time_s,speed_km_h\n" + "".join(f"{second},80\n" for second in range(20)))
    plan = small_plan(tmp_path / "in")
    recordings = [dataclasses.replace(r, speed=SpeedFile(trace)) for r in plan.recordings]
    study = make_study(tmp_path / "study", dataclasses.replace(plan, recordings=tuple(recordings)))
    assert all(run.has_speed for run in RecordingDesk(study).runs())
    assert len(list(study.folder.recordings.glob("*.csv"))) == 1
    study.close()


def test_that_a_clip_holds_the_samples_of_its_recording(tmp_path):
    study = small_study(tmp_path)
    row = (
        raw_database(study.folder)
        .execute(
            "SELECT code, stored_name, start_s, stop_s, mask_step FROM clip "
            "JOIN clip_source USING (clip_id) JOIN recording USING (recording_id)"
        )
        .fetchone()
    )
    code, stored_name, start_s, stop_s, mask_step = row
    clip, _ = soundfile.read(study.folder.clip_file(code))
    whole, rate_hz = soundfile.read(study.folder.recordings / stored_name)
    error = (clip - whole[round(start_s * rate_hz) : round(stop_s * rate_hz)]) * 2**23
    # Recorded with 16 bits: triangular noise of one of their steps, and the rounding to 24 bits.
    assert mask_step == 256
    assert 0.9 * 256 < np.abs(error).max() <= 256.5
    assert np.sqrt(np.mean(error**2)) == pytest.approx(256 / np.sqrt(6), rel=0.02)


def test_that_a_failure_half_way_leaves_nothing_behind(tmp_path):
    plan = small_plan(tmp_path / "in")
    plan.recordings[-1].path.write_bytes(b"not a sound file at all")
    with pytest.raises(RecordingError, match=r"Birch_1\.wav"):
        make_study(tmp_path / "study", plan)
    assert [f.name for f in tmp_path.iterdir()] == ["in"]


def test_that_a_cancelled_study_leaves_nothing_behind(tmp_path):
    def stop(part, _words):
        if part > 0.5:
            raise Cancelled

    with pytest.raises(Cancelled):
        make_study(tmp_path / "study", small_plan(tmp_path / "in"), stop)
    assert [f.name for f in tmp_path.iterdir()] == ["in"]


def test_that_a_folder_with_something_in_it_is_refused_and_kept(tmp_path):
    (tmp_path / "study").mkdir()
    (tmp_path / "study" / "letter.txt").write_text("keep me")
    with pytest.raises(StudyError, match="not empty"):
        make_study(tmp_path / "study", small_plan(tmp_path / "in"))
    assert (tmp_path / "study" / "letter.txt").read_text() == "keep me"


def test_that_the_same_recording_for_two_sets_is_refused(tmp_path):
    plan = small_plan(tmp_path / "in")
    first, second = plan.recordings
    second.path.write_bytes(first.path.read_bytes())
    with pytest.raises(RecordingError, match=r"Birch_1\.wav holds the same recording as Maple_1"):
        make_study(tmp_path / "study", plan)


def test_that_different_rates_are_brought_to_one_and_told(tmp_path):
    plan = small_plan(tmp_path / "in")
    write_noise(plan.recordings[1].path, seed=5, rate_hz=44_100)
    study = make_study(tmp_path / "study", plan)
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    assert {p.clip(s).sample_rate_hz for p in desk.pairs for s in "AB"} == {48_000}
    remarks = [
        row[0] for row in raw_database(study.folder).execute("SELECT remarks FROM clip_source")
    ]
    assert any("44100" in remark and "48000" in remark for remark in remarks)


def test_that_recordings_of_different_length_give_clips_of_equal_length_and_size(tmp_path):
    plan = small_plan(tmp_path / "in")
    write_noise(plan.recordings[1].path, seed=5, seconds=4.0)
    study = make_study(tmp_path / "study", plan)
    sizes = {f.stat().st_size for f in study.folder.clips.iterdir()}
    times = {f.stat().st_mtime for f in study.folder.clips.iterdir()}
    assert len(sizes) == 1
    assert len(times) == 1


@pytest.mark.slow
def test_that_recordings_tell_by_no_time_and_no_order_which_set_they_are_of(tmp_path):
    orders = set()
    for seed in range(4):
        plan = small_plan(tmp_path / "in", sets=3, seed=seed)
        words = []
        study = make_study(
            tmp_path / str(seed), plan, lambda _part, told, words=words: words.append(told)
        )
        orders.add(tuple(told for told in words if told.startswith("Copying")))
        times = {file.stat().st_mtime for file in study.folder.recordings.iterdir()}
        # 2000-01-01 00:00 UTC.
        assert times == {946_684_800}
        study.close()
    assert {len(order) for order in orders} == {3}
    assert len(orders) > 1


def test_that_a_fault_found_while_cutting_names_the_file_that_the_lead_knows(tmp_path):
    plan = small_plan(tmp_path / "in")
    silent_later = write_noise(plan.recordings[1].path, seed=5, seconds=40.0)
    samples, rate_hz = soundfile.read(silent_later)
    write_noise(plan.recordings[0].path, seed=6, seconds=40.0)
    # Silent to the end: between live parts it would be lost signal, and the clip cut beside it.
    samples[10 * rate_hz :] = 0.0
    soundfile.write(silent_later, samples, rate_hz)
    with pytest.raises(RecordingError, match=r"of 'Birch_1\.wav', .* is silent throughout"):
        make_study(tmp_path / "study", plan)


def test_that_a_recording_too_short_to_cut_is_named_with_its_condition(tmp_path):
    plan = small_plan(tmp_path / "in")
    write_noise(plan.recordings[1].path, seed=5, seconds=1.5)
    with pytest.raises(RecordingError, match=r"^'Birch_1\.wav', coarse asphalt, 80 km/h: .* 1\.5"):
        make_study(tmp_path / "study", plan)


@pytest.mark.slow
@pytest.mark.skipif(os.name != "posix", reason="elsewhere what a program leaves goes after a day")
def test_that_what_a_killed_program_left_is_gone_after_the_next_study(tmp_path):
    (tmp_path / "in").mkdir()
    killed = subprocess.run(
        [sys.executable, "-c", KILLED_WHILE_CUTTING, tmp_path],
        env=os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)},
        check=False,
    )
    assert killed.returncode == -signal.SIGKILL
    (left,) = tmp_path.glob(".*")
    assert (left / "study" / "study.sqlite").exists()
    assert not (tmp_path / "study").exists()
    make_study(tmp_path / "study", small_plan(tmp_path / "in")).close()
    assert {path.name for path in tmp_path.iterdir()} == {"in", "study"}


def test_that_recordings_of_different_full_scale_are_brought_to_one(tmp_path):
    plan = small_plan(tmp_path / "in")
    first, second = plan.recordings
    plan = dataclasses.replace(
        plan,
        recordings=(
            dataclasses.replace(first, pa_per_full_scale=20.0),
            dataclasses.replace(second, pa_per_full_scale=10.0),
        ),
    )
    study = make_study(tmp_path / "study", plan)
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    clips = {p.clip(s) for p in desk.pairs for s in "AB"}
    assert {clip.pa_per_full_scale for clip in clips} == {20.0}
    sounds = [read_sound(desk.clip_file(clip)) for clip in clips]
    levels_db = sorted(
        clip_levels(sound.samples, sound.sample_rate_hz).leq_a_db_re_full_scale for sound in sounds
    )
    # One of the set in its pair and one in the repeat; the control's there and on both sides of
    # the null pair. Both were written at the same rms; half the pascal is 6.02 dB less.
    quieter, louder = levels_db[:2], levels_db[2:]
    assert max(quieter) - min(quieter) < 0.01
    assert max(louder) - min(louder) < 0.01
    assert louder[0] - quieter[0] == pytest.approx(6.02, abs=0.2)


KILLED_WHILE_CUTTING = """
import os, signal, sys
from pathlib import Path
from studies import small_plan
from ratings.intake.making import make_study
def stop(part, _words):
    if part > 0.5:
        os.kill(os.getpid(), signal.SIGKILL)
make_study(Path(sys.argv[1]) / "study", small_plan(Path(sys.argv[1]) / "in"), stop)
"""

CONTROL = TyreSet(1, "Maple", is_control=True)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"name": " "}, "no name"),
        ({"attributes": ()}, "No attribute"),
        ({"evaluators": ()}, "No evaluators are planned"),
        ({"conditions": ()}, "no condition"),
        ({"sets": (CONTROL,)}, "nothing to compare"),
        ({"sets": (CONTROL, TyreSet(2, "Birch", is_control=True))}, "More than one set"),
        ({"sets": (CONTROL, TyreSet(2, "Maple", is_control=False))}, "twice"),
        ({"sets": (CONTROL, TyreSet(2, " ", is_control=False))}, "A set has no name"),
        (
            {"sets": (CONTROL, TyreSet(2, "maple ", is_control=False))},
            "Maple and maple  differ in nothing but capitals or spaces",
        ),
        (
            {"attributes": (DEFAULT_ATTRIBUTES[5],)},
            "None of the chosen attributes can be heard on coarse asphalt, 80 km/h",
        ),
        ({"sets": (CONTROL, TyreSet(3, "Rowan", is_control=False))}, "no recording of Rowan"),
    ],
)
def test_that_a_plan_with_a_hole_is_refused_in_words(tmp_path, changes, message):
    plan = dataclasses.replace(small_plan(tmp_path / "in"), **changes)
    with pytest.raises(DesignError, match=message):
        make_study(tmp_path / "study", plan)


def test_that_a_set_may_be_called_like_a_code(tmp_path):
    plan = small_plan(tmp_path / "in")
    plan = dataclasses.replace(plan, sets=(CONTROL, TyreSet(2, "350", is_control=False)))
    study = make_study(tmp_path / "study", plan)
    assert session_seats(study)[0].pair_count == 3
    study.close()


def test_that_half_calibrated_recordings_are_refused(tmp_path):
    plan = small_plan(tmp_path / "in")
    first, second = plan.recordings
    half = (dataclasses.replace(first, pa_per_full_scale=20.0), second)
    with pytest.raises(DesignError, match="1 of 2 recordings are calibrated"):
        make_study(tmp_path / "study", dataclasses.replace(plan, recordings=half))


def test_that_a_person_named_twice_is_refused_before_a_file_is_touched(tmp_path):
    plan = dataclasses.replace(small_plan(tmp_path / "in"), evaluators=("Ada", "", "", "ADA "))
    steps = []
    with pytest.raises(DesignError, match="Ada and ADA differ in"):
        make_study(tmp_path / "study", plan, lambda *step: steps.append(step))
    assert not steps
    assert not list(tmp_path.glob("*study*"))


def test_that_an_evaluator_added_later_gets_the_next_code_and_an_order_of_their_own(tmp_path):
    study = small_study(tmp_path, sets=3, conditions=2)
    session_id = LeadDesk(study).seat("Cy")
    seats = session_seats(study)
    assert [seat.evaluator.code for seat in seats] == ["E1", "E2", "E3"]
    orders = {
        tuple((p.clip_a.code, p.clip_b.code) for p in ListeningDesk(study, s.session_id).pairs)
        for s in seats
    }
    assert len(orders) == 3
    assert seats[2].session_id == session_id


@pytest.mark.slow
@pytest.mark.parametrize(
    ("channels", "ears", "roles"),
    [
        (1, (None, None), ["driver left ear"]),
        (3, (None, None), ["driver left ear", "driver right ear", "not used"]),
        (4, (3, 1), ["not used", "driver right ear", "not used", "driver left ear"]),
    ],
)
@pytest.mark.parametrize("factor", [None, 12.5])
def test_that_the_chosen_ears_are_told_as_channels_of_first_runs(
    tmp_path, channels, ears, roles, factor
):
    plan = small_plan(tmp_path / "in")
    for recording in plan.recordings:
        samples, rate_hz = soundfile.read(recording.path)
        repeated = np.repeat(samples[:, :1], channels, axis=1)
        soundfile.write(recording.path, repeated, rate_hz, subtype="PCM_16")
    chosen = {"left_channel": ears[0], "right_channel": ears[1], "pa_per_full_scale": factor}
    recordings = tuple(dataclasses.replace(each, **chosen) for each in plan.recordings)
    study = make_study(tmp_path / "study", dataclasses.replace(plan, recordings=recordings))
    desk = RecordingDesk(study)
    for run in desk.runs():
        assert (run.run, list(run.roles)) == (1, roles)
        assert run.is_level_true == (factor is not None)
        for setting in desk.channel_settings(run.recording_id):
            assert setting.pa_per_full_scale == factor
    study.close()


def test_that_a_file_that_is_in_pascal_by_itself_makes_a_level_true_run(tmp_path):
    plan = small_plan(tmp_path / "in")
    recordings = []
    for recording in plan.recordings:
        samples, rate_hz = soundfile.read(recording.path)
        path = recording.path.with_suffix(".h5")
        with h5py.File(path, "w") as file:
            data = file.create_dataset("pressure", data=samples)
            data.attrs["unit"] = "Pa"
            data.attrs["sample_rate_hz"] = rate_hz
        recordings.append(dataclasses.replace(recording, path=path))
    study = make_study(tmp_path / "study", dataclasses.replace(plan, recordings=tuple(recordings)))
    desk = RecordingDesk(study)
    assert all(run.is_level_true for run in desk.runs())
    assert desk.channel_settings(desk.runs()[0].recording_id)[0] == ChannelSetting(
        "driver left ear", 1.0, "pascal by the file's own units"
    )
    study.close()
