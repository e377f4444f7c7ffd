import math
import sqlite3
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from threading import Barrier

import numpy as np
import pytest
import soundfile
from kept_figures import FIGURES
from studies import RATE_HZ, Clock, raw_database, write_noise

from ratings.errors import Cancelled, MeasurementError, RecordingError, StudyError
from ratings.storage import tables
from ratings.storage.key import open_key
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.mending import missing_clips, restore_clips
from ratings.storage.recording_desk import RecordingDesk
from ratings.storage.study_folder import Study, open_study
from ratings.storage.verdict_desk import VerdictDesk
from ratings.study.figures import Remark
from ratings.study.runs import (
    ChannelSetting,
    ConstantSpeed,
    NewRun,
    RunNote,
    SpeedChannel,
    SpeedFile,
    SpeedPulses,
    Tread,
)

EARS_AT_20_PA = (
    ChannelSetting("driver left ear", 20.0, "tone 94 dB, before and after, 0.1 dB apart"),
    ChannelSetting("driver right ear", 20.0, "tone 94 dB, before and after, 0.1 dB apart"),
)


def new_run(folder, seed=99, **changes):
    path = write_noise(folder / f"Birch second run {seed}.wav", seed)
    wanted = {"path": path, "set_id": 2, "condition_id": 1, "channels": EARS_AT_20_PA}
    return NewRun(**(wanted | changes))


def folder_content(study):
    return sorted(path.name for path in study.folder.recordings.iterdir())


def code_of(study, name):
    raw = raw_database(study.folder)
    return raw.execute("SELECT code FROM tyre_set WHERE name = ?", (name,)).fetchone()[0]


def write_speed(path):
    path.write_text("time_s,speed_km_h\n0,80\n1,80.5\n2,80\n3,80\n")
    return path


def test_that_a_made_study_has_first_runs_with_ears_that_are_not_calibrated(study, desk):
    runs = desk.runs()
    assert [run.run for run in runs] == [1, 1, 1, 1]
    assert {run.roles for run in runs} == {("driver left ear", "driver right ear")}
    assert {(run.is_level_true, run.measured_at, run.worst) for run in runs} == {
        (False, None, None)
    }
    # A steady run is taken as driven at the planned speed, as an imported one is.
    for run in runs:
        planned = ConstantSpeed(80) if run.condition.manoeuvre == "steady" else None
        assert desk.speed_source(run.recording_id) == planned
        assert run.has_speed == (planned is not None)
    assert {run.has_speed for run in runs} == {True, False}
    assert {run.set_code for run in runs} == set(LeadDesk(study).codes())


def test_that_a_run_is_copied_bit_for_bit_and_numbered_after_those_alike(study, desk, tmp_path):
    new = new_run(tmp_path)
    before = new.path.read_bytes()
    recording_id = desk.bring_run(new)
    (run,) = [each for each in desk.runs() if each.recording_id == recording_id]
    assert (run.set_code, run.condition.condition_id, run.run) == (code_of(study, "Birch"), 1, 2)
    assert (run.channels, run.sample_rate_hz, run.duration_s) == (2, RATE_HZ, 2.5)
    assert run.is_level_true
    assert desk.run_file(recording_id).read_bytes() == new.path.read_bytes() == before
    assert "Birch" not in desk.run_file(recording_id).name
    assert desk.bring_run(new_run(tmp_path, seed=98)) > recording_id
    assert [each.run for each in desk.runs()] == [
        *([1, 2, 3] if run.set_code < code_of(study, "Maple") else [1]),
        *([1] if run.set_code < code_of(study, "Maple") else [1, 2, 3]),
        1,
        1,
    ]


def test_that_no_name_of_a_set_or_file_stands_in_what_is_told_of_runs(study, desk, tmp_path):
    speed = write_speed(tmp_path / "Birch speed.csv")
    recording_id = desk.bring_run(new_run(tmp_path, speed=SpeedFile(speed)))
    told = str((desk.runs(), desk.run_file(recording_id).name, desk.speed_source(recording_id)))
    assert not [name for name in ("Maple", "Birch") if name in told]
    assert [name for _, name in desk.sets()] == ["Maple", "Birch"]


@pytest.mark.parametrize("is_renamed", [True, False])
def test_that_the_same_recording_is_refused_twice_and_no_code_is_told(
    study, desk, tmp_path, is_renamed
):
    new = new_run(tmp_path)
    desk.bring_run(new)
    content = folder_content(study)
    again = new.path.rename(tmp_path / "other.wav") if is_renamed else new.path
    with pytest.raises(RecordingError) as refusal:
        desk.bring_run(NewRun(again, 1, 2, EARS_AT_20_PA))
    assert refusal.value.what_happened == (
        f"'{again.name}' is in the study already: run 2 of its set, coarse asphalt, 80 km/h."
    )
    assert code_of(study, "Birch") not in str(refusal.value)
    assert folder_content(study) == content
    assert len(desk.runs()) == 5


@pytest.mark.parametrize("stop_at", [0.0, 0.3, 0.8, 1.0])
def test_that_a_cancelled_run_leaves_nothing_behind(study, desk, tmp_path, stop_at):
    def stop(part, _words):
        if part >= stop_at:
            raise Cancelled

    content = folder_content(study)
    with pytest.raises(Cancelled):
        desk.bring_run(new_run(tmp_path), stop)
    assert folder_content(study) == content
    assert len(desk.runs()) == 4


@pytest.mark.slow
def test_that_progress_goes_from_nothing_to_the_end_in_small_steps(desk, tmp_path):
    parts = []
    rng = np.random.default_rng(3)
    path = tmp_path / "long.wav"
    # 24 MB: several blocks of copying.
    soundfile.write(path, 0.1 * rng.standard_normal((1_500_000, 8)), 48_000, subtype="PCM_16")
    new = NewRun(path, 1, 1, (ChannelSetting("reference"),) * 8)
    desk.bring_run(new, lambda part, words: parts.append((part, words)))
    numbers = [part for part, _ in parts]
    assert numbers == sorted(numbers)
    assert numbers[-1] == 1.0
    assert max(np.diff([0.0, *numbers])) < 0.2
    assert {words for _, words in parts} == {
        "Copying long.wav",
        "Reading long.wav",
        "Keeping long.wav",
    }


def test_that_a_recording_that_cannot_be_used_is_refused_by_its_own_name(study, desk, tmp_path):
    new = new_run(tmp_path)
    new.path.write_bytes(new.path.read_bytes()[:-2000])
    content = folder_content(study)
    with pytest.raises(RecordingError, match=r"'Birch second run 99\.wav' was cut off"):
        desk.bring_run(new)
    path = tmp_path / "damaged.flac"
    soundfile.write(path, 0.1 * np.random.default_rng(1).standard_normal((40_000, 2)), 8000)
    data = bytearray(path.read_bytes())
    data[len(data) // 2 : len(data) // 2 + 8000] = bytes(8000)
    path.write_bytes(data)
    with pytest.raises(RecordingError, match=r"'damaged\.flac'"):
        desk.bring_run(NewRun(path, 1, 1, EARS_AT_20_PA))
    with pytest.raises(RecordingError, match=r"no file 'gone\.wav'"):
        desk.bring_run(NewRun(tmp_path / "gone.wav", 1, 1, EARS_AT_20_PA))
    assert folder_content(study) == content


def test_that_two_leads_at_once_get_a_run_each_and_one_recording_once(study, desk, tmp_path):
    start = Barrier(3)
    same = new_run(tmp_path, seed=50)
    wanted = [same, same, new_run(tmp_path, seed=51)]

    def bring(run):
        other = open_study(study.folder.path)
        start.wait()
        try:
            return RecordingDesk(other).bring_run(run)
        except RecordingError as refusal:
            return refusal
        finally:
            other.close()

    with ThreadPoolExecutor(3) as pool:
        outcomes = list(pool.map(bring, wanted))
    (refusal,) = [each for each in outcomes if isinstance(each, RecordingError)]
    assert "is in the study already" in refusal.what_happened
    assert sorted(run.run for run in desk.runs()) == [1, 1, 1, 1, 2, 3]
    assert len(folder_content(study)) == 6
    for run in desk.runs():
        assert desk.run_file(run.recording_id).is_file()


def test_that_a_failure_leaves_what_another_lead_has_told_of_meanwhile(
    study, desk, tmp_path, monkeypatch, first
):
    content = folder_content(study)
    run = new_run(tmp_path, speed=SpeedFile(write_speed(tmp_path / "trace.csv")))

    def fails(*, after):
        @contextmanager
        def writing():
            with Study.writing(study) as connection:
                yield connection
                connection.rollback()
                monkeypatch.undo()
                after()
                raise StudyError("The disk is full.")

        monkeypatch.setattr(study, "writing", writing)
        with pytest.raises(StudyError, match="full"):
            desk.bring_run(run)

    fails(after=lambda: None)
    assert folder_content(study) == content
    other = open_study(study.folder.path)
    fails(after=lambda: RecordingDesk(other).set_speed(first, run.speed))
    other.close()
    assert desk.speed_source(first).path.is_file()
    assert len(folder_content(study)) == len(content) + 1


def test_that_a_setting_is_wanted_for_every_channel(study, desk, tmp_path, first):
    new = new_run(tmp_path, channels=EARS_AT_20_PA[:1])
    with pytest.raises(RecordingError, match="has 2 channels, and 1 was told"):
        desk.bring_run(new)
    with pytest.raises(RecordingError, match="has 2 channels, and 3 were told"):
        desk.set_channels(first, EARS_AT_20_PA + EARS_AT_20_PA[:1])
    assert len(desk.runs()) == 4


@pytest.mark.parametrize("factor", [0.0, -1.0, math.inf, math.nan])
def test_that_a_factor_that_cannot_be_is_refused(factor):
    with pytest.raises(MeasurementError, match="is not a valid Pa per full scale"):
        ChannelSetting("passenger", factor)


def test_that_a_failure_at_the_last_moment_leaves_neither_file_nor_row(
    study, desk, tmp_path, monkeypatch
):
    content = folder_content(study)

    def refuse(act):
        if "COMMIT" in act.__code__.co_consts:
            raise sqlite3.OperationalError("disk I/O error")
        return act()

    monkeypatch.setattr("ratings.storage.database.when_free", refuse)
    with pytest.raises(Exception, match="disk I/O error"):
        desk.bring_run(new_run(tmp_path, speed=SpeedFile(write_speed(tmp_path / "v.csv"))))
    monkeypatch.undo()
    assert folder_content(study) == content
    assert len(desk.runs()) == 4


def test_that_a_study_that_may_only_be_read_refuses_before_copying(study, desk, tmp_path):
    study.is_read_only = True
    parts = []
    with pytest.raises(StudyError, match="can be read but not written"):
        desk.bring_run(new_run(tmp_path), lambda part, _: parts.append(part))
    assert parts == []


def test_that_what_was_said_last_of_a_run_counts_and_the_rest_stays(study, desk, first):
    settings = (
        ChannelSetting("passenger", 12.5, "factor given"),
        ChannelSetting("speed"),
    )
    desk.set_channels(first, EARS_AT_20_PA)
    desk.set_channels(first, settings)
    desk.set_note(first, RunNote(air_c=11.0, wind_m_s=2.5))
    note = RunNote(12.5, 14.0, 31.0, 3.5, 250.0, 260.0, 980.0, 760.0, "wind from the left")
    desk.set_note(first, note)
    assert desk.channel_settings(first) == settings
    assert desk.note(first) == note
    assert desk.note(first + 1) == RunNote()
    (run,) = [each for each in desk.runs() if each.recording_id == first]
    assert (run.roles, run.is_level_true) == (("passenger", "speed"), True)
    raw = raw_database(study.folder)
    rows = raw.execute(
        "SELECT role FROM channel_setting WHERE recording_id = ?", (first,)
    ).fetchall()
    assert len(rows) == 6


@pytest.mark.parametrize(
    "source",
    [
        SpeedChannel(2, 100.0, -3.0, 0.25),
        SpeedPulses(1, 25.4, -0.5),
        ConstantSpeed(80.0),
    ],
)
def test_that_a_speed_without_a_file_is_kept_and_can_be_taken_back(desk, source):
    coasting, *_ = (r.recording_id for r in desk.runs() if r.condition.manoeuvre == "coast-down")
    known = {run.recording_id for run in desk.runs() if run.has_speed}
    assert desk.speed_source(coasting) is None
    desk.set_speed(coasting, source)
    assert desk.speed_source(coasting) == source
    assert {run.recording_id for run in desk.runs() if run.has_speed} == known | {coasting}
    desk.set_speed(coasting, None)
    assert desk.speed_source(coasting) is None
    assert {run.recording_id for run in desk.runs() if run.has_speed} == known


def test_that_a_speed_file_is_kept_by_its_content_and_shared_by_runs(study, desk, tmp_path, ids):
    path = write_speed(tmp_path / "Maple speed.CSV")
    desk.set_speed(ids[0], SpeedFile(path, offset_s=0.5))
    desk.set_speed(ids[1], SpeedFile(path))
    first, second = desk.speed_source(ids[0]), desk.speed_source(ids[1])
    assert first.path.read_bytes() == path.read_bytes()
    assert (first.offset_s, second.offset_s) == (0.5, 0.0)
    assert first.path == second.path
    assert first.path.parent == study.folder.recordings
    assert first.path.suffix == ".csv"
    assert len(folder_content(study)) == 5


def test_that_a_speed_that_cannot_be_is_refused_and_the_earlier_one_stays(
    study, desk, tmp_path, first
):
    desk.set_speed(first, ConstantSpeed(80.0))
    (tmp_path / "letter.csv").write_text("dear lead\n")
    with pytest.raises(RecordingError, match=r"letter\.csv"):
        desk.set_speed(first, SpeedFile(tmp_path / "letter.csv"))
    with pytest.raises(RecordingError, match="no channel 3; it has 2"):
        desk.set_speed(first, SpeedChannel(3, 1.0))
    assert desk.speed_source(first) == ConstantSpeed(80.0)
    assert len(folder_content(study)) == 4


@pytest.mark.slow
def test_that_the_last_change_moves_with_everything_that_is_kept(desk, tmp_path, first):
    seen = [desk.last_change()]
    acts = (
        lambda: desk.bring_run(new_run(tmp_path)),
        lambda: desk.set_channels(first, EARS_AT_20_PA),
        lambda: desk.set_note(first, RunNote(remark="rain")),
        lambda: desk.set_speed(first, ConstantSpeed(50.0)),
        lambda: desk.set_tread(1, Tread("205/55R16")),
        lambda: desk.change_bands(()),
        lambda: desk.keep_measurement(first, FIGURES, (), {}, {}, 1),
    )
    for act in acts:
        act()
        seen.append(desk.last_change())
    assert len(set(seen)) == len(acts) + 1


@pytest.mark.parametrize("act", ["UPDATE {0} SET {1} = {1}", "DELETE FROM {0}"])
def test_that_the_database_itself_refuses_to_change_what_was_kept(study, desk, act, first):
    desk.set_note(first, RunNote())
    desk.set_speed(first, ConstantSpeed(80.0))
    desk.keep_measurement(first, FIGURES, [Remark("note", "Short.")], {}, {}, 1)
    desk.set_tread(1, Tread("205/55R16", 64))
    listening = ListeningDesk(study, session_seats(study)[0].session_id, Clock())
    listening.note_exposure(3.0, 60.0)
    VerdictDesk(study).set_planned_evaluators(6)
    open_key(study, "L", "all have finished")
    raw = raw_database(study.folder)
    kept = [table.name for table in tables.IDENTIFYING if table is not tables.tyre_set]
    imported = {"brought_score", "brought_mark", "score_import"}
    for table in {*kept, "band_table", "band", "exposure"} - imported:
        column = raw.execute(f"PRAGMA table_info({table})").fetchone()[1]
        with pytest.raises(sqlite3.IntegrityError, match=f"{table} is append-only"):
            raw.execute(act.format(table, column))
    raw.close()


def test_that_clips_come_from_the_run_they_were_cut_from_when_there_are_more(study, desk, tmp_path):
    before = {clip.name: clip.read_bytes() for clip in study.folder.clips.iterdir()}
    desk.bring_run(new_run(tmp_path))
    LeadDesk(study, Clock()).seat("late")
    for clip in study.folder.clips.iterdir():
        clip.unlink()
    assert restore_clips(study) == len(before)
    assert missing_clips(study) == ()
    assert {clip.name: clip.read_bytes() for clip in study.folder.clips.iterdir()} == before
    table = LeadDesk(study).measurement_table()
    assert table["run"].tolist() == [1] * 8


def test_that_a_tread_told_again_counts_and_starts_as_the_plan_says(desk) -> None:
    planned = desk.treads()[1]
    assert planned.pitches is None
    desk.set_tread(1, Tread("205/55R16", 64))
    desk.set_tread(1, Tread("205/55R16", 68))
    assert desk.treads()[1] == Tread("205/55R16", 68)
    first = next(run.recording_id for run in desk.runs())
    assert desk.tread_of_run(first) in desk.treads().values()


@pytest.mark.parametrize("pitches", [0, -3, 5000])
def test_that_a_tread_of_senseless_pitches_is_refused(pitches: int) -> None:
    with pytest.raises(MeasurementError, match="pitches"):
        Tread("205/55R16", pitches)
