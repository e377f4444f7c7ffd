"""From two recordings to a verdict on the panel: the main job through every real part."""

import csv

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from studies import write_noise

from app.evaluator.brief_page import BriefPage
from app.evaluator.session_screen import SessionScreen
from app.lead.lead_screen import LeadScreen
from app.lead.new_study.page import NewStudyPage
from app.parts.ladder import ScoreLadder
from app.parts.sides import SidePanel

pytestmark = [pytest.mark.card, pytest.mark.slow]


def make_study(hands, tmp_path):
    """Make a study of two recordings with two seats, through the page."""
    files = [
        write_noise(tmp_path / "maple_coarse.wav", 1, 2.2, 48_000),
        write_noise(tmp_path / "birch_coarse.wav", 2, 2.2, 48_000),
    ]
    hands.clicks("Make a study")
    page = hands.sees(NewStudyPage)[0]
    page._ask_files = lambda _parent, _folder: files
    hands.clicks("Choose recordings")
    page.fields.vehicle.setFocus()
    QTest.keyClicks(page.fields.vehicle, "Alder wagon")
    page.fields.count.setValue(2)
    hands.clicks("maple is the control")
    hands.qtbot.waitUntil(page.foot.make.isEnabled, timeout=20000)
    hands.clicks("Make the study")
    hands.qtbot.waitUntil(hands.window.doors.isVisible, timeout=30000)
    hands.button("Evaluate")


def saved(hands, screen):
    """Wait until all that was given is on the disk, and the pair that follows in sight."""
    hands.qtbot.waitUntil(lambda: screen._presenter.is_idle, timeout=20000)


def rate_by_keys(hands, screen, first, second):
    """Hear both sides through the card and rate every attribute with keys."""
    presenter = screen._presenter
    hands.qtbot.waitUntil(lambda: "A" in presenter.form.answers.heard, timeout=20000)
    hands.presses(Qt.Key.Key_Space)
    hands.qtbot.waitUntil(lambda: presenter.form.is_heard, timeout=20000)
    hands.presses(Qt.Key.Key_Space)
    for _ in presenter.attributes:
        hands.presses(first, Qt.Key.Key_Space, second, Qt.Key.Key_Space, Qt.Key.Key_Tab)
    hands.presses(Qt.Key.Key_Return)
    saved(hands, screen)


def rate_by_mouse(hands, screen):
    """Hear both sides through the card and rate every attribute with the mouse."""
    presenter = screen._presenter
    panels = {panel.accessibleName()[-1]: panel for panel in hands.sees(SidePanel)}
    hands.qtbot.waitUntil(lambda: "A" in presenter.form.answers.heard, timeout=20000)
    QTest.mouseClick(panels["B"], Qt.MouseButton.LeftButton)
    hands.qtbot.waitUntil(lambda: presenter.form.is_heard, timeout=20000)
    for side, score in (("A", 7.25), ("B", 6.5)):
        QTest.mouseClick(panels[side], Qt.MouseButton.LeftButton)
        for ladder in hands.sees(ScoreLadder):
            place = ladder.rect().center()
            place.setX(ladder.rail_x(score))
            place.setY(ladder.rail_y())
            QTest.mouseClick(ladder, Qt.MouseButton.LeftButton, pos=place)
    words = "Finish" if presenter.locked_count + 1 == presenter.pair_count else "Next pair"
    hands.clicks(words)
    saved(hands, screen)


def take_seat(hands, words):
    """Go from the doors to the first pair of a seat."""
    hands.clicks("Evaluate")
    hands.clicks(words)
    hands.qtbot.waitUntil(lambda: bool(hands.sees(BriefPage)), timeout=20000)
    hands.clicks("Go on" if words.startswith("Go on") else "Start listening")
    hands.qtbot.waitUntil(lambda: bool(hands.sees(SessionScreen)), timeout=20000)
    screen = hands.sees(SessionScreen)[0]
    saved(hands, screen)
    return screen


def leave_in_the_middle(hands, screen):
    """Hear both sides of the pair at hand, give one score, and close the window."""
    presenter = screen._presenter
    hands.qtbot.waitUntil(lambda: "A" in presenter.form.answers.heard, timeout=20000)
    hands.presses(Qt.Key.Key_Space)
    hands.qtbot.waitUntil(lambda: presenter.form.is_heard, timeout=20000)
    hands.presses(Qt.Key.Key_5)
    pair_id = presenter.form.pair.pair_id
    hands.window.close()
    hands.qtbot.waitUntil(hands.window.isHidden, timeout=20000)
    return pair_id


def leave_the_end(hands):
    """Press Enter once the last page says that it counts."""
    hands.qtbot.waitUntil(lambda: "Enter or Esc goes back" in hands.words(), timeout=20000)
    hands.presses(Qt.Key.Key_Return)


def saved_scores(hands, table):
    """Read the agreement, which names no set, and save the table."""
    hands.clicks("Lead")
    # Somebody has rated since the program was started, so the door asks.
    hands.clicks("I am the lead")
    hands.qtbot.waitUntil(lambda: bool(hands.sees(LeadScreen)), timeout=20000)
    lead = hands.sees(LeadScreen)[0]
    hands.qtbot.waitUntil(lambda: "2 evaluators" in hands.words(), timeout=20000)
    seen = hands.words().lower()
    assert "birch" not in seen
    assert "maple" not in seen
    lead.agreement_page._ask_path = lambda _parent, _purpose: table
    hands.clicks("Save the score table (CSV)")
    hands.qtbot.waitUntil(table.exists, timeout=20000)
    return list(csv.DictReader(table.read_text(encoding="utf-8-sig").splitlines()))


def test_that_two_recordings_become_a_rated_study_with_its_agreement_and_table(
    qtbot, tmp_path, card, open_window, hands
):
    person = hands(open_window())
    make_study(person, tmp_path)
    screen = take_seat(person, "Listen as E1 ")
    assert screen._presenter.pair_count == 3
    rate_by_keys(person, screen, Qt.Key.Key_8, Qt.Key.Key_6)
    assert screen._presenter.locked_count == 1
    left_at = leave_in_the_middle(person, screen)

    person = hands(open_window())
    person.window.open(next((tmp_path / "studies").iterdir()))
    screen = take_seat(person, "Go on as E1 ")
    assert screen._presenter.form.pair.pair_id == left_at
    assert screen._presenter.form.answers.scores == {"boom": {"B": 5.0}}
    rate_by_mouse(person, screen)
    rate_by_mouse(person, screen)
    assert screen._presenter.is_finished
    leave_the_end(person)

    screen = take_seat(person, "Listen as E2 ")
    while not screen._presenter.is_finished:
        rate_by_keys(person, screen, Qt.Key.Key_9, Qt.Key.Key_7)
    leave_the_end(person)

    rows = saved_scores(person, tmp_path / "scores.csv")
    # Two evaluators x three pairs x two sides x six attributes of a steady condition.
    assert len(rows) == 2 * 3 * 2 * 6
    assert {row["evaluator"] for row in rows} == {"E1", "E2"}
    assert {row["score"] for row in rows if row["evaluator"] == "E2"} == {"9.0", "7.0"}

    # What was rated was heard: the card has taken real sound of both clips, 20 dB below full
    # output as long as nothing is calibrated.
    person.window.close()
    heard = card.captured()
    assert 0.01 < np.abs(heard).max() < 0.1
    assert np.count_nonzero(heard.any(axis=1)) > 48_000 * 5
