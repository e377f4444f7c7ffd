import csv
import subprocess
import sys

import pytest

from app.lead.agreement.presenter import AgreementPresenter
from app.lead.reading import read_lead
from app.lead.study_watch import StudyWatch
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.study_folder import open_study

COARSE = "coarse asphalt, 80 km/h"
SMOOTH = "smooth asphalt, coast-down, 80 to 40 km/h"


@pytest.fixture
def start(qtbot, qapp):
    """Start a presenter on a study and wait for its results."""
    watches = []

    def start_(study):
        watch = StudyWatch(study)
        presenter = AgreementPresenter(study, watch, read_lead(study).overview.conditions)
        watches.append((watch, presenter))
        watch.look()
        settle(qtbot, presenter)
        return presenter, watch

    yield start_
    for watch, presenter in watches:
        watch.stop()
        presenter.deleteLater()


def settle(qtbot, presenter):
    qtbot.waitUntil(lambda: presenter.judged is not None and not presenter.is_judging)


def test_that_the_heading_is_the_finding(start, study):
    presenter, _ = start(study)
    assert presenter.heading() == "The panel agrees on boom, not on rumble."
    assert presenter.standing_line() == (
        "5 evaluators, 3 coded sets, all 2 conditions. Sets stay coded."
    )


def test_that_agreement_without_the_flagged_stands_beside_the_heading(qtbot, start, study, bring):
    presenter, _ = start(study)
    assert presenter.beside_line() == ""
    bring(study, 5, first=6)
    contrary = [("evaluator", "set", "condition", "attribute", "score")]
    contrary += [
        (code, name, condition, "boom", score)
        for code in ("Q1", "Q2", "Q3")
        for name, score in (("Maple", 7), ("Birch", 5), ("Larch", 9))
        for condition in (COARSE, SMOOTH)
    ]
    path = study.folder.path.with_suffix(".csv")
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(contrary)
    LeadDesk(study).bring_scores(path)
    presenter.refresh()
    settle(qtbot, presenter)
    boom = presenter.blocks[0]
    assert presenter.beside_line() == (
        f"Without Q1, Q2 and Q3, who are flagged, W is 1.00 on boom ({boom.kendall.w:.2f} with "
        "all). Shown, not claimed: the same scores chose whom to leave out."
    )


def test_that_attributes_keep_the_order_of_the_study(start, study):
    presenter, _ = start(study)
    assert [block.attribute for block in presenter.blocks] == ["boom", "rumble"]
    assert presenter.attribute_name("boom") == "Boom"


def test_that_steps_stop_at_the_ends_of_the_list(start, study):
    presenter, _ = start(study)
    presenter.step_attribute(-1)
    assert presenter.chosen.attribute == "boom"
    presenter.step_attribute(1)
    presenter.step_attribute(1)
    assert presenter.chosen.attribute == "rumble"


def test_that_a_condition_is_judged_by_itself(start, study):
    presenter, _ = start(study)
    assert presenter.conditions == (COARSE, SMOOTH)
    presenter.choose_condition(COARSE)
    assert [block.condition for block in presenter.blocks] == [COARSE, COARSE]
    assert COARSE in presenter.standing_line()
    assert presenter.heading() == "The panel agrees on boom, not on rumble."


def test_that_results_of_a_second_connection_come_in_and_the_choice_stays(
    qtbot, start, study, bring
):
    presenter, watch = start(study)
    presenter.choose_attribute("rumble")
    presenter.choose_condition(SMOOTH)
    presenter.set_level_free(True)
    other = open_study(study.folder.path)
    try:
        bring(other, 2, first=6)
    finally:
        other.close()
    with qtbot.waitSignal(presenter.changed):
        watch.look()
    assert presenter.is_judging
    assert "New scores are being worked in." in presenter.standing_line()
    settle(qtbot, presenter)
    assert presenter.judged.evaluators == ("P1", "P2", "P3", "P4", "P5", "P6", "P7")
    assert presenter.chosen.attribute == "rumble"
    assert presenter.condition == SMOOTH
    assert presenter.is_level_free
    assert "New scores" not in presenter.standing_line()


def test_that_scores_arriving_during_the_work_are_worked_in_after_it(qtbot, start, study, bring):
    presenter, watch = start(study)
    presenter.refresh()
    bring(study, 1, first=6)
    watch.look()
    settle(qtbot, presenter)
    assert "P6" in presenter.judged.evaluators


def test_that_nothing_is_worked_out_again_while_nothing_changed(qtbot, start, study):
    presenter, watch = start(study)
    watch.look()
    assert not presenter.is_judging


def test_that_an_empty_study_says_what_the_page_is_for_and_what_to_do(start, empty_study):
    presenter, _ = start(empty_study)
    what, then = presenter.emptiness()
    assert what == "Nobody has rated yet."
    assert "First step" in then
    assert presenter.state().words == "no scores yet"


def test_that_one_evaluator_is_too_few_to_agree(start, empty_study, bring):
    bring(empty_study, 1)
    presenter, _ = start(empty_study)
    what, then = presenter.emptiness()
    assert what == "Only P1 has rated so far."
    assert "at least two evaluators" in then


def test_that_a_study_that_cannot_be_read_is_told_once(qtbot, start, study):
    presenter, watch = start(study)
    problems = []
    watch.problem_raised.connect(problems.append)
    database = study.folder.database
    study.engine.dispose()
    kept = database.rename(database.with_name("kept"))
    database.mkdir()
    watch.look()
    watch.look()
    database.rmdir()
    kept.rename(database)
    watch.look()
    assert len(problems) == 1
    assert "cannot be opened" in problems[0].what_happened
    assert presenter.heading() == "The panel agrees on boom, not on rumble."


@pytest.mark.slow
def test_that_the_lead_screen_is_imported_without_the_heavy_libraries():
    code = (
        "import sys, app.lead.lead_screen; "
        "print([m for m in ('pandas', 'scipy', 'pyqtgraph') if m in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
