"""Runs of a study with what was measured of them, without a window."""

import pytest
from lead_recordings import keep, study_with_runs

import ratings.findings.measured_study as room
from ratings.findings.measured_study import measured_study, runs_in_words
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.recording_desk import RecordingDesk
from ratings.study.figures import Remark
from ratings.study.wording import counted


@pytest.fixture
def study(tmp_path):
    study = study_with_runs(tmp_path / "s", is_measured=True)
    yield study
    study.close()


@pytest.fixture
def desk(study):
    return RecordingDesk(study)


@pytest.fixture
def read(study, desk):
    """Read the study as somebody would in a notebook."""
    lead = LeadDesk(study)
    return lambda *how: measured_study(desk, lead.control_code(), lead.codes(), *how)


def test_that_a_study_is_read_and_compared_without_a_window(read, desk):
    found = read()
    assert found.codes[0] == found.control
    assert set(found.codes) == {run.set_code for run in desk.runs()}
    assert found.waiting == ()
    cavity = {(f.key, code) for f, code in found.found.clear(found.channels[0])}
    assert any(key == "cavity_line_level" for key, _ in cavity)
    assert not found.has_failed


def test_that_a_void_run_counts_neither_for_its_set_nor_for_its_repeats(read, desk):
    run = desk.runs()[0]
    before = read()
    keep(desk, run, remarks=(Remark("void", "Channel 1 is clipped 14 times.", 1),))
    found = read()
    assert found.found.void == ((run.set_code, run.condition.title, run.run),)
    own = [each for each in found.repeats if each.set == run.set_code]
    assert not any(run.run in each.runs for each in own if each.condition == run.condition.title)
    assert len(found.runs) == len(before.runs)


def test_that_the_gravest_of_what_quality_control_says_comes_first(read, desk):
    note, void, doubtful = desk.runs()[:3]
    for run, severity in ((note, "note"), (void, "void"), (doubtful, "doubtful")):
        keep(desk, run, remarks=(Remark(severity, f"Channel 1 is {severity}.", 1),))
    told = [remark.severity for _, remarks in read().told() for remark in remarks]
    assert told == ["void", "doubtful", "note"]


def test_that_one_comparison_that_fails_leaves_the_other(read, monkeypatch):
    monkeypatch.setattr(room, "measured", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        read()

    def attempt(work, instead):
        try:
            return work()
        except ZeroDivisionError:
            return instead

    found = read(attempt)
    assert found.has_failed
    assert found.found.findings == ()
    assert found.runs


def test_that_a_cell_says_how_many_runs_and_in_what_state(desk):
    runs = [run for run in desk.runs() if run.set_code == desk.runs()[0].set_code]
    count, state, grave = runs_in_words(runs)
    assert count == counted(len(runs), "run")
    assert state.startswith("all measured, ")
    assert grave == ""
    assert runs_in_words([]) == ("no run", "", "")
