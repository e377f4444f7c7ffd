"""What the lead settles: one change after the other, faster than a verdict is worked out."""

import pytest
from generated_verdicts import verdict_on

from app.lead.verdict.settling import Settling
from app.lead.verdict_reading import VerdictReading
from ratings.storage.verdict_desk import VerdictDesk


@pytest.fixture
def settling(qapp, empty_study):
    reading = VerdictReading(empty_study)
    reading.verdict = verdict_on("clear", 1)
    made = Settling(empty_study, reading)
    made.keeps = reading
    return made


def test_that_changes_before_the_next_verdict_are_all_kept_and_stay_in_sight(
    qtbot, settling, empty_study
):
    for name, points in (("customer", 1.2), ("matters", 0.6), ("small", 0.3)):
        settling.set_limit(name, points)
    settling.set_planned(9)
    limits, desk = settling.settings.limits, VerdictDesk(empty_study)
    assert (limits.small, limits.matters, limits.customer) == (0.3, 0.6, 1.2)
    assert settling.settings.planned_evaluators == 9
    qtbot.waitUntil(lambda: desk.settings().planned_evaluators == 9)
    assert desk.settings().limits == limits
    # A verdict that was read before puts no old value back.
    settling._reading.verdict = verdict_on("clear", 2)
    assert settling.settings.planned_evaluators == 9


def test_that_a_refused_change_puts_back_what_holds(settling):
    settling.set_limit("small", 0.7)
    assert settling.refusal is not None
    assert settling.settings.limits.small == 0.25
