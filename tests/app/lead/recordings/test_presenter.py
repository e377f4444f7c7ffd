"""The recordings presenter on a real study, and measuring in the background, without a window."""

import re
import threading

import pytest
from lead_recordings import LINE_DB, keep, measure_all, set_names, study_with_runs

from app.lead.recordings.measuring import MeasuringQueue
from app.lead.recordings.presenter import RecordingsPresenter
from ratings.errors import MeasurementError
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.recording_desk import RecordingDesk
from ratings.study.bands import Band
from ratings.study.figures import Remark

STEADY = "coarse asphalt, 80 km/h"
COASTING = "smooth asphalt, coast-down, 80 to 40 km/h"


@pytest.fixture
def study(tmp_path):
    study = study_with_runs(tmp_path)
    yield study
    study.close()


@pytest.fixture
def desk(study):
    return RecordingDesk(study)


@pytest.fixture
def opened(qtbot, study, desk):
    """Make a presenter and wait until it has read the study."""

    def open_(measure=None):
        lead = LeadDesk(study)
        presenter = RecordingsPresenter(desk, lead.control_code(), lead.codes(), measure)
        presenter.look()
        qtbot.waitUntil(lambda: presenter.reading is not None and presenter._job is None)
        presenters.append(presenter)
        return presenter

    presenters = []
    yield open_
    for presenter in presenters:
        presenter.stop()
        presenter.deleteLater()


def code_of(desk, name):
    return next(code for code, own in set_names(desk).items() if own == name)


@pytest.mark.slow
def test_that_the_heading_is_the_finding_on_codes_only(desk, opened):
    measure_all(desk)
    presenter = opened()
    found = re.match(
        rf"Set {code_of(desk, 'Birch')} is (\d\.\d) dB quieter than the control in the cavity line",
        presenter.heading(),
    )
    assert found is not None
    assert float(found[1]) == pytest.approx(4.0, abs=0.6)
    parts = (presenter.heading(), presenter.standing_line(), presenter.condition_line())
    said = " ".join([*parts, presenter.station_line()])
    assert not any(name in said for name in LINE_DB)


def test_that_the_condition_line_names_who_differs_and_who_does_not(desk, opened):
    measure_all(desk)
    presenter = opened()
    presenter.choose_condition(STEADY)
    line = presenter.condition_line()
    assert f"{code_of(desk, 'Birch')} is" in line
    assert f"{code_of(desk, 'Larch')} does not differ by more than run-to-run scatter" in line


@pytest.mark.slow
def test_that_runs_that_wait_are_counted_until_they_are_measured(qtbot, desk, opened):
    presenter = opened()
    assert presenter.heading() == "No run has been measured yet."
    assert presenter.station_line() == "18 of 18 to measure"
    assert not presenter.is_done
    measure_all(desk)
    presenter.look()
    qtbot.waitUntil(lambda: not presenter.waiting)
    assert presenter.station_line() == "18 runs"
    assert presenter.standing_line().endswith("18 runs, all measured.")
    assert presenter.is_done


@pytest.mark.slow
def test_that_void_runs_are_left_out_said_and_counted_to_be_checked(desk, opened):
    run = next(run for run in desk.runs() if run.condition.title == STEADY)
    measure_all(desk, {run.recording_id: (Remark("void", "Channel 1 is clipped 14 times.", 1),)})
    presenter = opened()
    assert presenter.station_line() == "18 runs, 1 to check"
    words = f"1 run marked void is left out: {run.set_code} on {STEADY}, run {run.run}."
    assert words in presenter.standing_line()
    assert [r.sentence for r in presenter.reading.remarks[run.recording_id]] == [
        "Channel 1 is clipped 14 times."
    ]


@pytest.mark.parametrize(("number", "is_heard"), [(1, True), (2, False)])
def test_that_a_void_run_is_said_to_be_heard_where_clips_are_cut_from_it(
    desk, opened, number, is_heard
):
    run = next(r for r in desk.runs() if r.condition.title == STEADY and r.run == number)
    measure_all(desk, {run.recording_id: (Remark("void", "Channel 1 loses its signal.", 1),)})
    words = f"The panel hears a void run of {run.set_code}."
    assert (words in opened().standing_line()) == is_heard


def test_that_the_mean_of_the_ears_is_looked_at_first_and_channels_bear_their_role(desk, opened):
    measure_all(desk)
    presenter = opened()
    assert presenter.channel == "ears"
    assert presenter.reading.channels == ("ears", "1", "2")
    assert presenter.channel_words("ears") == "mean of the ears"
    assert presenter.channel_words("2") == "channel 2, driver right ear"
    presenter.choose_channel("2")
    assert {finding.channel for finding in presenter.block()} == {"2"}


@pytest.mark.slow
def test_that_curves_are_read_when_they_are_looked_at(qtbot, desk, opened):
    measure_all(desk)
    presenter = opened()
    assert presenter.curves is None
    with qtbot.waitSignal(presenter.curves_changed):
        presenter.choose_view("spectrum")
    qtbot.waitUntil(lambda: presenter.curves is not None)
    assert {each.run.condition.title for each in presenter.curves} == {STEADY}
    assert len(presenter.curves) == 9
    presenter.choose_condition(COASTING)
    assert presenter.curves is None
    qtbot.waitUntil(lambda: presenter.curves is not None)
    assert {each.run.condition.title for each in presenter.curves} == {COASTING}


@pytest.mark.slow
def test_that_a_hidden_set_is_left_out_and_the_control_stays_first(qtbot, desk, opened):
    from ratings.findings.run_curves import spectra

    measure_all(desk)
    presenter = opened()
    presenter.choose_view("spectrum")
    qtbot.waitUntil(lambda: presenter.curves is not None)
    curves = spectra(presenter.curves, "ears")
    assert presenter.shown_curves(curves)[0].code == presenter.control
    presenter.show_set(presenter.control, is_shown=False)
    assert presenter.control not in [curve.code for curve in presenter.shown_curves(curves)]
    presenter.show_set(presenter.control, is_shown=True)
    assert len(presenter.shown_curves(curves)) == 3


@pytest.mark.slow
def test_that_uncalibrated_runs_are_said_not_to_be_level_true(qtbot, tmp_path):
    study = study_with_runs(tmp_path / "plain", runs=2, pa_per_full_scale=None)
    desk, lead = RecordingDesk(study), LeadDesk(study)
    measure_all(desk)
    presenter = RecordingsPresenter(desk, lead.control_code(), lead.codes(), None)
    presenter.look()
    qtbot.waitUntil(lambda: presenter.reading is not None)
    assert "No run is calibrated: levels are re full scale." in presenter.standing_line()
    study.close()


def test_that_changed_bands_are_a_new_version(qtbot, desk, opened):
    presenter = opened()
    with qtbot.waitSignal(presenter.told) as told:
        presenter.change_bands((Band("rumble", "Rumble", 60, 200),))
    assert told.args == ["Bands are now version 3. Measure the runs again to use them."]
    qtbot.waitUntil(lambda: presenter.reading.bands.version == 3)


@pytest.mark.slow
def test_that_runs_measured_with_other_bands_wait_to_be_measured_again(qtbot, desk, opened):
    measure_all(desk)
    presenter = opened()
    assert presenter.waiting == ()
    presenter.change_bands((Band("rumble", "Rumble", 60, 200),))
    qtbot.waitUntil(lambda: len(presenter.waiting) == 18)
    assert "18 runs, all measured. 18 with older bands." in presenter.standing_line()
    assert presenter.station_line() == "18 of 18 to measure"


def made_up(desk, recording_id, progress):
    """Keep a made-up measurement."""
    progress(0.5, "half")
    run = next(run for run in desk.runs() if run.recording_id == recording_id)
    keep(desk, run)
    progress(1.0, "done")


@pytest.mark.slow
def test_that_waiting_runs_are_measured_one_after_the_other(qtbot, desk, opened):
    presenter = opened(made_up)
    states = []
    presenter.measuring.changed.connect(
        lambda: states.append(presenter.measuring.state and presenter.measuring.state.words)
    )
    with qtbot.waitSignal(presenter.told, timeout=30000) as told:
        presenter.measure()
    assert told.args == ["18 runs measured."]
    assert any(words and words.startswith("Run 2 of 18: ") for words in states)
    assert not any(words and any(name in words for name in LINE_DB) for words in states)
    qtbot.waitUntil(lambda: not presenter.waiting and presenter.measuring.state is None)


def test_that_a_stop_keeps_what_was_finished(qtbot, desk, opened):
    second, going_on = threading.Event(), threading.Event()
    begun = []

    def measure(desk, recording_id, progress):
        begun.append(recording_id)
        if len(begun) == 2:
            second.set()
            assert going_on.wait(20)
        made_up(desk, recording_id, progress)

    presenter = opened(measure)
    presenter.measure()
    qtbot.waitUntil(second.is_set, timeout=20000)
    with qtbot.waitSignal(presenter.told, timeout=20000) as told:
        presenter.measuring.cancel()
        assert presenter.measuring.state.is_stopping
        going_on.set()
    assert told.args == ["Stopped. Runs that were finished are kept."]
    assert sum(run.measured_at is not None for run in desk.runs()) == 1


@pytest.mark.slow
def test_that_one_run_that_cannot_be_measured_does_not_stop_the_others(qtbot, desk, opened):
    bad = desk.runs()[1]

    def measure(desk, recording_id, progress):
        if recording_id == bad.recording_id:
            raise MeasurementError("It has no speed.", "Bring it in.")
        made_up(desk, recording_id, progress)

    presenter = opened(measure)
    with qtbot.waitSignal(presenter.problem_raised, timeout=30000) as told:
        presenter.measure()
    (problem,) = told.args
    name = f"{bad.set_code}, {bad.condition.title}, run {bad.run}"
    assert problem.what_happened == f"{name}: It has no speed."
    assert sum(run.measured_at is not None for run in desk.runs()) == 17


def test_that_the_time_left_follows_from_the_part_that_is_done(qtbot, desk):
    now = [100.0]
    going_on = threading.Event()

    def measure(_desk, _recording_id, progress):
        now[0] = 110.0
        progress(0.25, "")
        assert going_on.wait(20)

    queue = MeasuringQueue(desk, measure, clock=lambda: now[0])
    queue.measure(desk.runs()[:1])
    qtbot.waitUntil(lambda: queue.state is not None and queue.state.part == 0.25)
    assert queue.state.seconds_left == pytest.approx(30.0)
    with qtbot.waitSignal(queue.told):
        going_on.set()
