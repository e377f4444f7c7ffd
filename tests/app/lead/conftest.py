"""Studies with scores, and a lead's screen on one of them."""

import csv
import itertools

import pytest
from studies import SETS, small_study

from app.lead.lead_screen import LeadScreen
from app.parts.theme import apply_theme
from ratings.storage.lead_desk import LeadDesk

BOOM = {"Maple": 6.0, "Birch": 7.5, "Larch": 5.0}
LEVELS = (0.0, 0.5, -0.5, 0.25, 1.0)
#: Each evaluator has another order, so that nobody agrees.
RUMBLE = ((5, 6, 7), (7, 6, 5), (6, 7, 5), (5, 7, 6), (7, 5, 6))


def bring_panel(study, path, evaluators=5, first=1):
    """Bring in two scores of every cell from evaluators who agree on boom and not on rumble."""
    conditions = [condition.title for condition in LeadDesk(study).conditions()]
    rows = [("evaluator", "set", "condition", "attribute", "repeat", "score")]
    for who, condition, repeat in itertools.product(range(evaluators), conditions, (1, 2)):
        for place, name in enumerate(SETS):
            code = f"P{first + who}"
            nudge = 0.25 if repeat == 2 else 0.0
            boom = BOOM[name] + LEVELS[who % 5] + nudge
            rumble = RUMBLE[who % 5][place] + nudge
            rows.append((code, name, condition, "boom", repeat, boom))
            rows.append((code, name, condition, "rumble", repeat, rumble))
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(rows)
    return LeadDesk(study).bring_scores(path)


@pytest.fixture
def empty_study(tmp_path):
    """Three sets, two conditions, two seats, no score."""
    study = small_study(tmp_path / "empty", sets=3, conditions=2)
    yield study
    study.close()


@pytest.fixture
def study(empty_study, tmp_path):
    """The same with the scores of five evaluators."""
    bring_panel(empty_study, tmp_path / "panel.csv")
    return empty_study


@pytest.fixture
def light(qapp):
    """The light theme, put on the program."""
    apply_theme(qapp, "light")


@pytest.fixture
def open_screen(qtbot, light):
    """Open the lead's screen on a study and wait for its results."""

    def open_(study, answers=()):
        waiting = iter(answers)
        screen = LeadScreen(study, ask_path=lambda _parent, _purpose: next(waiting))
        qtbot.addWidget(screen)
        screen.resize(1280, 720)
        with qtbot.waitExposed(screen):
            screen.show()
        screen.activateWindow()
        qtbot.waitUntil(
            lambda: screen.presenter.judged is not None and not screen.presenter.is_judging
        )
        return screen

    return open_


@pytest.fixture
def bring(tmp_path):
    """Bring more evaluators into a study, past the screen."""
    numbers = itertools.count()

    def bring_(study, evaluators, first=1):
        return bring_panel(study, tmp_path / f"more{next(numbers)}.csv", evaluators, first)

    return bring_
