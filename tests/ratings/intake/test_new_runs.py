"""Files brought into a study, without a window."""

from dataclasses import replace

import pytest
from studies import small_study, write_noise

from ratings.errors import Cancelled
from ratings.intake.new_runs import Brought, bring_runs
from ratings.intake.run_draft import first_draft, shortcoming, with_facts
from ratings.recordings.read import describe
from ratings.storage.recording_desk import RecordingDesk


@pytest.fixture
def desk(tmp_path):
    study = small_study(tmp_path / "s", sets=2, conditions=1)
    yield RecordingDesk(study)
    study.close()


@pytest.fixture
def ready(desk):
    """Make a file ready as its name and its facts say."""

    def ready(path):
        sets = [(each.set_id, each.name) for each in desk.sets()]
        (condition,) = desk.conditions()
        facts = describe(path)
        draft = with_facts(first_draft(path, sets, (condition,)), facts, condition)
        assert shortcoming(draft, facts, condition) == ""
        return draft, facts, condition

    return ready


def test_that_files_become_runs_and_one_that_is_refused_does_not_stop_the_next(
    desk, ready, tmp_path
):
    first = ready(write_noise(tmp_path / "birch 2.wav", 90))
    again = (replace(first[0], path=tmp_path / "birch 3.wav"), *first[1:])
    again[0].path.write_bytes(first[0].path.read_bytes())
    other = ready(write_noise(tmp_path / "maple 2.wav", 91))
    before, told, brought = len(desk.runs()), [], Brought()
    bring_runs(desk, [first, again, other], brought, lambda *step: told.append(step))
    assert len(desk.runs()) == before + 2
    assert brought.paths == [first[0].path, other[0].path]
    assert [path.name for path, _ in brought.refusals] == ["birch 3.wav"]
    assert (told[0], told[-1][1][:11]) == ((0.0, "File 1 of 3"), "File 3 of 3")
    parts = [part for part, _ in told]
    assert parts == sorted(parts)


def test_that_what_was_brought_before_a_cancel_is_in_and_known(desk, ready, tmp_path):
    files = [ready(write_noise(tmp_path / f"{name} 2.wav", 92)) for name in ("birch", "maple")]
    before, brought = len(desk.runs()), Brought()

    def progress(_part, words):
        if words.startswith("File 2"):
            raise Cancelled

    with pytest.raises(Cancelled):
        bring_runs(desk, files, brought, progress)
    assert brought.paths == [files[0][0].path]
    assert len(desk.runs()) == before + 1
