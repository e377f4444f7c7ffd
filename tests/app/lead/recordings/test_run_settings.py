"""What is said of runs that are in the study already, without a window."""

from dataclasses import replace

import pytest
from lead_recordings import study_with_runs

from app.lead.recordings.bringing.run_settings import RunSettingsPresenter
from ratings.intake.run_draft import CalibrationDraft, SpeedDraft
from ratings.storage.recording_desk import RecordingDesk
from ratings.study.runs import (
    RunNote,
    SpeedFile,
)


@pytest.fixture
def desk(tmp_path):
    study = study_with_runs(tmp_path, is_measured=True)
    yield RecordingDesk(study)
    study.close()


@pytest.fixture
def presenter(desk):
    presenter = RunSettingsPresenter(desk)
    presenter.show_runs(desk.runs())
    yield presenter
    presenter.deleteLater()


def keep(qtbot, presenter, **changes):
    presenter.change(replace(presenter.draft, **changes))
    with qtbot.waitSignal(presenter.kept) as kept:
        presenter.keep()
    qtbot.waitUntil(lambda: not presenter.is_keeping)
    return kept.args[0]


def test_that_a_run_is_shown_as_it_was_said_to_be(presenter, desk):
    run = presenter.run
    assert run == desk.runs()[0]
    assert presenter.draft.roles == ("driver left ear", "driver right ear")
    assert presenter.kept_words[0] == "given"
    assert (presenter.draft.calibration.kind, presenter.draft.speed.kind) == ("kept", "kept")


@pytest.mark.slow
def test_that_only_what_was_changed_is_kept(qtbot, presenter, desk):
    before = desk.channel_settings(presenter.run.recording_id)
    recording_id = keep(qtbot, presenter, note=RunNote(air_c=12.0))
    assert desk.note(recording_id).air_c == 12.0
    assert desk.channel_settings(recording_id) == before


def test_that_speed_and_calibration_can_be_said_later(qtbot, presenter, desk, tmp_path):
    speed = tmp_path / "speed.csv"
    speed.write_text("time_s,speed_km_h\n0,80\n2.5,40\n")
    coasting = next(run for run in desk.runs() if run.condition.manoeuvre == "coast-down")
    presenter.choose(coasting.recording_id)
    assert presenter.kept_words[1] == "not known"
    recording_id = keep(
        qtbot,
        presenter,
        speed=SpeedDraft("file", speed),
        calibration=CalibrationDraft("factor", pa_per_full_scale=31.0),
        roles=("rear", "passenger"),
    )
    assert recording_id == coasting.recording_id
    assert isinstance(desk.speed_source(recording_id), SpeedFile)
    settings = desk.channel_settings(recording_id)
    assert [(each.role, each.pa_per_full_scale) for each in settings] == [
        ("rear", 31.0),
        ("passenger", 31.0),
    ]
    assert presenter.kept_words == ("31 Pa per full scale, given", "from a file of its own")


def test_that_a_calibration_can_be_taken_back(qtbot, presenter, desk):
    recording_id = keep(qtbot, presenter, calibration=CalibrationDraft("unknown"))
    run = next(run for run in desk.runs() if run.recording_id == recording_id)
    assert not run.is_level_true


@pytest.mark.slow
@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"calibration": CalibrationDraft("factor")}, "The factor is not given."),
        ({"calibration": CalibrationDraft("tones")}, "The tone before the runs is not chosen."),
        ({"speed": SpeedDraft("file")}, "The file with the speed is not chosen."),
    ],
)
def test_that_what_is_missing_is_told_and_nothing_kept(qtbot, presenter, desk, changes, words):
    before = desk.last_change()
    presenter.change(replace(presenter.draft, **changes))
    with qtbot.waitSignal(presenter.problem_raised) as told:
        presenter.keep()
    assert told.args[0].what_happened == words
    assert desk.last_change() == before


def test_that_a_speed_file_that_holds_none_is_told(qtbot, presenter, desk, tmp_path):
    bad = tmp_path / "bad.csv"
    bad.write_text("nothing")
    presenter.change(replace(presenter.draft, speed=SpeedDraft("file", bad)))
    with qtbot.waitSignal(presenter.problem_raised) as told:
        presenter.keep()
    assert "bad.csv" in told.args[0].what_happened
    qtbot.waitUntil(lambda: not presenter.is_keeping)


def test_that_a_run_of_which_something_else_was_said_is_measured_again(qtbot, desk):
    from app.lead.recordings.presenter import RecordingsPresenter
    from ratings.storage.lead_desk import LeadDesk

    measured = []
    lead = LeadDesk(desk.study)
    shown = RecordingsPresenter(
        desk,
        lead.control_code(),
        lead.codes(),
        lambda _desk, recording_id, _progress: measured.append(recording_id),
    )
    shown.look()
    qtbot.waitUntil(lambda: shown.reading is not None)
    assert shown.waiting == ()
    wanted = desk.runs()[4].recording_id
    with qtbot.waitSignal(shown.told):
        shown.measure_again(wanted)
    assert measured == [wanted]
    # Nothing was kept by this measuring, so the run still waits.
    assert [run.recording_id for run in shown.waiting] == [wanted]
    shown.stop()
