"""What is said of a study, without a window."""

import pytest
from studies import small_study

from app.lead.reading import read_lead
from app.lead.study.presenter import StudyPresenter
from app.station import State


@pytest.fixture
def presenter(qapp, empty_study):
    return StudyPresenter(empty_study, read_lead(empty_study))


def test_that_heading_and_rail_count_sets_and_conditions(presenter):
    assert presenter.heading() == "3 coded sets on the Alder wagon, in 2 conditions."
    assert presenter.state() == State("3 sets, 2 conditions", is_done=True)


def test_that_one_condition_is_said_in_the_singular(qapp, tmp_path):
    study = small_study(tmp_path / "one", sets=2, conditions=1)
    assert StudyPresenter(study, read_lead(study)).state().words == "2 sets, 1 condition"
    study.close()


def test_that_sets_are_named_by_their_codes_only(presenter):
    said = " ".join(
        [
            presenter.heading(),
            presenter.standing_line(),
            presenter.control_words(),
            *presenter.codes,
            *presenter.conditions(),
            *presenter.clip_lines(),
            *presenter.session_lines(),
        ]
    )
    assert not any(name in said for name in ("Maple", "Birch", "Larch"))
    assert presenter.control_words().split()[0] in presenter.codes


def test_that_a_session_is_told_by_its_pairs_and_the_length_of_its_clips(presenter):
    pairs, clips = presenter.session_lines()
    assert pairs.endswith("one null pair and one repeat are hidden among them.")
    assert "at steady speed" in clips
    assert "in a coast-down" in clips


def test_that_clips_of_unknown_level_are_called_so(presenter):
    assert "Not calibrated: levels are as recorded, and not known in pascal." in (
        presenter.clip_lines()
    )
