"""Files on their way to become runs, without a window."""

from dataclasses import replace

import numpy as np
import pytest
import soundfile
from studies import small_study, write_noise

from app.lead.reading import read_lead
from app.lead.recordings.bands_editor import BandsPresenter
from app.lead.recordings.bringing.presenter import BringPresenter
from ratings.intake.run_draft import (
    CalibrationDraft,
    SpeedDraft,
    speed_channel_problem,
)
from ratings.storage.recording_desk import RecordingDesk
from ratings.study.bands import DEFAULT_BANDS, Band
from ratings.study.runs import ConstantSpeed, RunNote, SpeedChannel, SpeedFile, SpeedPulses, Tread

STEADY, COASTING = 1, 2


@pytest.fixture
def desk(tmp_path):
    study = small_study(tmp_path / "s", sets=2, conditions=2)
    yield RecordingDesk(study)
    study.close()


@pytest.fixture
def presenter(desk):
    presenter = BringPresenter(desk, read_lead(desk.study))
    yield presenter
    presenter.deleteLater()


def read_in(qtbot, presenter, *paths):
    presenter.add_files(paths)
    qtbot.waitUntil(
        lambda: all(presenter.facts(d) or presenter.problem(d) for d in presenter.files)
    )


def draft_of(presenter, path):
    return next(draft for draft in presenter.files if draft.path == path)


def say(presenter, path, **changes):
    presenter.change(replace(draft_of(presenter, path), **changes))


def bring(qtbot, presenter):
    with qtbot.waitSignal(presenter.changed):
        presenter.bring()
    qtbot.waitUntil(lambda: presenter.work.state is None)


def new_runs(desk):
    return [run for run in desk.runs() if run.run > 1]


def test_that_a_files_name_proposes_its_set(qtbot, presenter, tmp_path):
    read_in(qtbot, presenter, write_noise(tmp_path / "birch 2.wav", 90))
    (draft,) = presenter.files
    names = {each.set_id: each.name for each in presenter.sets}
    assert names[draft.set_id] == "Birch"
    assert presenter.state_words(draft) == "choose its condition"
    assert not presenter.is_ready(draft)
    assert presenter.facts_words(draft) == "WAV, 2 channels, 8000 Hz, 2.5 s"


def test_that_two_channels_are_proposed_as_the_drivers_ears(qtbot, presenter, tmp_path):
    path = tmp_path / "four.wav"
    noise = np.random.default_rng(3).standard_normal((16000, 4)) * 0.05
    soundfile.write(path, noise, 8000)
    read_in(qtbot, presenter, path)
    assert presenter.files[0].roles == (
        "driver left ear",
        "driver right ear",
        "not used",
        "not used",
    )


def test_that_a_file_becomes_the_next_run_with_all_that_was_said(qtbot, desk, presenter, tmp_path):
    path = write_noise(tmp_path / "x.wav", 91)
    read_in(qtbot, presenter, path)
    note = RunNote(air_c=21.5, wind_m_s=0.0, remark="gravel on lane 2")
    say(
        presenter,
        path,
        set_id=2,
        condition_id=STEADY,
        calibration=CalibrationDraft("factor", pa_per_full_scale=25.0),
        speed=SpeedDraft("steady"),
        note=note,
    )
    with qtbot.waitSignal(presenter.runs_brought), qtbot.waitSignal(presenter.told) as told:
        presenter.bring()
    assert told.args == ["1 run imported."]
    assert presenter.files == ()
    (run,) = new_runs(desk)
    assert (run.condition.condition_id, run.run, run.is_level_true) == (STEADY, 2, True)
    settings = desk.channel_settings(run.recording_id)
    assert [each.role for each in settings] == ["driver left ear", "driver right ear"]
    assert {each.pa_per_full_scale for each in settings} == {25.0}
    assert settings[0].calibration == "25 Pa per full scale, given"
    assert desk.note(run.recording_id) == note
    assert desk.speed_source(run.recording_id) == ConstantSpeed(80.0)
    assert desk.run_file(run.recording_id).read_bytes() == path.read_bytes()


def test_that_a_tone_calibrates_every_channel(qtbot, desk, presenter, tmp_path):
    # 1 kHz at 0.1 of full scale rms, said to be 94 dB: 1 Pa rms (94 dB re 20 uPa is 1.0024 Pa).
    t = np.arange(8000 * 8) / 8000
    tone = tmp_path / "tone.wav"
    soundfile.write(tone, 0.1 * np.sqrt(2) * np.sin(2 * np.pi * 1000 * t), 8000, "FLOAT")
    path = write_noise(tmp_path / "x.wav", 92)
    read_in(qtbot, presenter, path)
    say(
        presenter,
        path,
        set_id=1,
        condition_id=COASTING,
        calibration=CalibrationDraft("tones", tone_before=tone, tone_db=94.0),
    )
    bring(qtbot, presenter)
    (run,) = new_runs(desk)
    factors = [each.pa_per_full_scale for each in desk.channel_settings(run.recording_id)]
    assert factors == pytest.approx([10.024, 10.024], rel=2e-3)


def test_that_a_speed_file_comes_along(qtbot, desk, presenter, tmp_path):
    speed = tmp_path / "speed.csv"
    speed.write_text("time_s,speed_km_h\n0,80\n1,70\n2.5,55\n")
    path = write_noise(tmp_path / "x.wav", 93)
    read_in(qtbot, presenter, path)
    say(presenter, path, set_id=1, condition_id=COASTING, speed=SpeedDraft("file", speed))
    bring(qtbot, presenter)
    (run,) = new_runs(desk)
    source = desk.speed_source(run.recording_id)
    assert isinstance(source, SpeedFile)
    assert source.path.read_bytes() == speed.read_bytes()


@pytest.mark.parametrize(
    ("speed", "kept"),
    [
        (SpeedDraft("channel", channel=2, km_h_per_unit=50.0), SpeedChannel(2, 50.0)),
        (SpeedDraft("pulses", channel=2, pulses_per_metre=4.0), SpeedPulses(2, 4.0)),
    ],
)
def test_that_a_speed_channel_is_kept(qtbot, desk, presenter, tmp_path, speed, kept):
    path = write_noise(tmp_path / "x.wav", 81)
    read_in(qtbot, presenter, path)
    say(presenter, path, set_id=1, condition_id=COASTING, speed=speed)
    assert presenter.state_words(draft_of(presenter, path)) == (
        "channel 2 is driver right ear, no speed"
    )
    say(presenter, path, roles=("driver left ear", "speed"))
    bring(qtbot, presenter)
    assert desk.speed_source(new_runs(desk)[0].recording_id) == kept


def test_that_a_channel_in_pascal_holds_no_speed(qtbot, presenter, tmp_path):
    path = write_noise(tmp_path / "x.wav", 81)
    read_in(qtbot, presenter, path)
    say(presenter, path, roles=("driver left ear", "not used"))
    say(presenter, path, speed=SpeedDraft("channel", channel=2))
    draft = draft_of(presenter, path)
    facts = presenter.facts(draft)
    assert speed_channel_problem(draft, facts) == ""
    in_pascal = replace(facts, pa_per_full_scale=(1.0, 1.0))
    assert speed_channel_problem(draft, in_pascal) == "channel 2 is in pascal, no speed"


def test_that_a_steady_speed_is_not_taken_for_a_coast_down(qtbot, presenter, tmp_path):
    path = write_noise(tmp_path / "x.wav", 81)
    read_in(qtbot, presenter, path)
    say(presenter, path, set_id=1, condition_id=COASTING, speed=SpeedDraft("steady"))
    assert presenter.state_words(draft_of(presenter, path)) == "the condition has no steady speed"


def test_that_a_bad_file_says_its_sentence_and_leaves_the_others_in(
    qtbot, desk, presenter, tmp_path
):
    good = write_noise(tmp_path / "good.wav", 94)
    bad = tmp_path / "bad.wav"
    bad.write_text("this is no sound")
    read_in(qtbot, presenter, bad, good)
    for path in (bad, good):
        say(presenter, path, set_id=1, condition_id=STEADY)
    assert presenter.state_words(draft_of(presenter, bad)) == "cannot be used"
    assert "bad.wav" in presenter.problem(draft_of(presenter, bad))
    assert [draft.path for draft in presenter.ready] == [good]
    bring(qtbot, presenter)
    assert len(new_runs(desk)) == 1
    assert [draft.path for draft in presenter.files] == [bad]


def test_that_a_refused_file_stays_with_its_settings_and_the_next_is_taken(
    qtbot, desk, presenter, tmp_path
):
    path = write_noise(tmp_path / "a.wav", 95)
    same = tmp_path / "b.wav"
    same.write_bytes(path.read_bytes())
    other = write_noise(tmp_path / "c.wav", 96)
    read_in(qtbot, presenter, path, same, other)
    for each in (path, same, other):
        say(presenter, each, set_id=2, condition_id=STEADY, note=RunNote(air_c=9.0))
    with qtbot.waitSignal(presenter.problem_raised) as told:
        presenter.bring()
    assert told.args[0].what_happened.startswith("b.wav: ")
    qtbot.waitUntil(lambda: presenter.work.state is None)
    assert len(new_runs(desk)) == 2
    (left,) = presenter.files
    assert (left.path, left.note.air_c) == (same, 9.0)
    assert presenter.state_words(left) == "not imported"
    assert presenter.problem(left)


def test_that_only_what_holds_for_the_drive_day_is_applied_to_other_files(
    qtbot, presenter, tmp_path
):
    paths = [write_noise(tmp_path / f"{n}.wav", 97 + n) for n in range(2)]
    read_in(qtbot, presenter, *paths)
    say(
        presenter,
        paths[0],
        set_id=2,
        condition_id=COASTING,
        roles=("rear", "passenger"),
        calibration=CalibrationDraft("factor", pa_per_full_scale=20.0),
        speed=SpeedDraft("file", tmp_path / "one.csv"),
        note=RunNote(surface_c=30.0, tyre_air_c=40.0, load_rear_kg=600.0, remark="gust at 8 s"),
    )
    say(presenter, paths[1], condition_id=STEADY, note=RunNote(air_c=9.0, remark="dry"))
    presenter.choose(paths[0])
    presenter.take_over()
    other = draft_of(presenter, paths[1])
    assert other.set_id is None
    assert other.condition_id == STEADY
    assert other.roles == ("rear", "passenger")
    assert other.calibration.pa_per_full_scale == 20.0
    assert other.note == RunNote(air_c=9.0, surface_c=30.0, load_rear_kg=600.0, remark="dry")
    assert other.speed.kind != "file"


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"set_id": None}, "choose its set"),
        ({"roles": ("not used", "speed")}, "say which channel is heard"),
        ({"calibration": CalibrationDraft("factor")}, "give the factor"),
        ({"calibration": CalibrationDraft("tones")}, "choose the tone file"),
        ({"speed": SpeedDraft("file")}, "choose the speed file"),
        ({"speed": SpeedDraft("channel", channel=3)}, "choose the speed channel"),
        ({}, "Maple on coarse asphalt, 80 km/h"),
    ],
)
def test_that_what_is_missing_is_said(qtbot, presenter, tmp_path, changes, words):
    path = write_noise(tmp_path / "x.wav", 99)
    read_in(qtbot, presenter, path)
    say(presenter, path, **({"set_id": 1, "condition_id": STEADY} | changes))
    assert presenter.state_words(draft_of(presenter, path)) == words


def test_that_a_file_is_on_the_list_once_and_can_be_taken_off(qtbot, presenter, tmp_path):
    path = write_noise(tmp_path / "x.wav", 89)
    read_in(qtbot, presenter, path, path)
    presenter.add_files([path])
    assert len(presenter.files) == 1
    presenter.take_out(path)
    assert presenter.files == ()
    assert presenter.chosen is None
    assert path.is_file()


def test_that_size_and_pitches_of_a_sets_tyres_are_kept(qtbot, desk, presenter):
    presenter.change_tread(2, "205/55R16", 64)
    assert desk.treads()[2] == Tread("205/55R16", 64)
    with qtbot.waitSignal(presenter.problem_raised):
        presenter.change_tread(2, "wide ones", None)
    assert desk.treads()[2] == Tread("205/55R16", 64)


def test_that_bands_are_changed_named_and_refused_in_words(qtbot):
    presenter = BandsPresenter()
    presenter.begin(DEFAULT_BANDS)
    presenter.take_out(0)
    presenter.add()
    presenter.change(len(presenter.drafts) - 1, Band("", "Low rumble", 60, 180))
    with qtbot.waitSignal(presenter.kept) as kept:
        presenter.keep()
    bands = kept.args[0]
    assert bands[0].key == "structure_borne"
    assert (bands[-1].key, bands[-1].low_hz, bands[-1].high_hz) == ("low_rumble", 60, 180)
    presenter.change(0, Band("structure_borne", "Structure-borne", 400, 100))
    with qtbot.waitSignal(presenter.problem_raised):
        presenter.keep()
