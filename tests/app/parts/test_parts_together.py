import os
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QAbstractButton, QApplication, QHBoxLayout, QVBoxLayout, QWidget

from app.parts.buttons import PrimaryButton, QuietButton
from app.parts.headings import FindingHeading, PageHeading, QuestionPanel, SoftLine
from app.parts.icons import IconButton
from app.parts.keys_card import KeysCard
from app.parts.ladder import ScoreLadder
from app.parts.message_bar import MessageBar
from app.parts.note_box import NoteBox
from app.parts.position_bar import PositionBar
from app.parts.road import Road
from app.parts.sides import SidePanel
from app.parts.theme import apply_theme

PROJECT = Path(__file__).resolve().parents[3]
ATTRIBUTES = ("Boom", "Rumble on coarse road", "Cavity ring", "Pattern whine", "Hiss")


class Assembled(QWidget):
    """All parts on one page, as a listening session needs them."""

    def __init__(self, attributes=ATTRIBUTES):
        super().__init__()
        column = QVBoxLayout(self)
        column.setContentsMargins(40, 18, 40, 14)
        column.setSpacing(8)
        road, bar, sides = Road(), PositionBar(), QHBoxLayout()
        road.show_way(5, 12, (6,), 11)
        bar.set_length(8.0)
        for side in ("A", "B"):
            sides.addWidget(SidePanel(side))
        transport = QHBoxLayout()
        transport.addWidget(IconButton("play", "play"))
        transport.addWidget(bar)
        self.ladders = [ScoreLadder(name, "what it sounds like") for name in attributes]
        rows = QVBoxLayout()
        rows.setSpacing(0)
        for ladder in self.ladders:
            rows.addWidget(ladder)
        column.addWidget(PageHeading("Evening panel, coarse asphalt"))
        column.addWidget(road)
        self.message = MessageBar()
        column.addWidget(self.message)
        column.addLayout(sides)
        column.addLayout(transport)
        column.addLayout(rows)
        self.next_pair = PrimaryButton("Next pair")
        column.addWidget(self.next_pair, 0, Qt.AlignmentFlag.AlignRight)
        self.note = NoteBox(self)
        self.keys = KeysCard(self)


@pytest.fixture
def page(qtbot, light):
    page = Assembled()
    qtbot.addWidget(page)
    return page


def test_that_five_ladders_fit_on_the_smallest_screen(page):
    smallest = page.minimumSizeHint()
    assert smallest.width() <= 1280
    assert smallest.height() <= 720


def test_that_seven_compact_ladders_fit_on_the_smallest_screen(qtbot, light):
    page = Assembled((*ATTRIBUTES, "Evenness over speed", "Overall"))
    qtbot.addWidget(page)
    for ladder in page.ladders:
        ladder.set_compact(True)
    assert page.minimumSizeHint().height() <= 720


def test_that_the_rails_of_all_ladders_line_up(qtbot, page):
    page.resize(1280, 720)
    with qtbot.waitExposed(page):
        page.show()
    for score in (1, 5, 10):
        assert len({ladder.rail_x(score) for ladder in page.ladders}) == 1


def test_that_everything_that_takes_the_focus_has_a_spoken_name(page):
    page.message.tell("The headphones were unplugged.", "Plug them in.", "attention", "Choose one")
    nameless = [
        type(part).__name__
        for part in page.findChildren(QWidget)
        if part.focusPolicy() & Qt.FocusPolicy.TabFocus
        and not part.isHidden()
        and not (part.accessibleName() or getattr(part, "text", str)())
    ]
    assert nameless == []


def test_that_no_two_parts_share_a_mnemonic(page):
    mnemonics = Counter(
        QKeySequence.mnemonic(button.text()).toString()
        for button in page.findChildren(QAbstractButton)
    )
    del mnemonics[""]
    assert all(count == 1 for count in mnemonics.values())


def test_that_every_button_is_a_full_touch_target(qtbot, page):
    with qtbot.waitExposed(page):
        page.show()
    page.message.tell("The headphones were unplugged.", "Plug them in.", "attention", "Choose one")
    QApplication.processEvents()
    small = [
        (button.text() or button.accessibleName(), button.size().toTuple())
        for button in page.findChildren(QAbstractButton)
        if min(button.width(), button.height()) < 44
    ]
    assert small == []


@pytest.mark.parametrize("make", [lambda: IconButton("loop", "loop"), lambda: QuietButton("note")])
def test_that_the_focus_is_seen_on_drawn_buttons(qtbot, light, picture, make):
    window = QWidget()
    qtbot.addWidget(window)
    row = QHBoxLayout(window)
    elsewhere, button = PrimaryButton("Next pair"), make()
    row.addWidget(elsewhere)
    row.addWidget(button)
    with qtbot.waitExposed(window):
        window.show()
    window.activateWindow()
    elsewhere.setFocus()
    qtbot.waitUntil(elsewhere.hasFocus)
    without = picture(button).count(light.text)
    button.setFocus()
    qtbot.waitUntil(button.hasFocus)
    assert picture(button).count(light.text) - without >= 60


@pytest.mark.parametrize("is_enabled", [True, False])
def test_that_the_leading_button_reads_from_pixels(qtbot, theme, picture, is_enabled):
    button = PrimaryButton("Next pair")
    qtbot.addWidget(button)
    button.setEnabled(is_enabled)
    button.resize(150, 44)
    (contrast, *_) = picture(button).row_contrasts(button.rect().adjusted(16, 10, -16, -10))
    assert contrast >= 4.5


def test_that_headings_read_from_pixels(qtbot, theme, picture):
    for kind in (FindingHeading, PageHeading, SoftLine):
        line = kind("The panel agrees on hiss")
        qtbot.addWidget(line)
        line.resize(600, 40)
        contrasts = picture(line).row_contrasts()
        assert contrasts
        assert min(contrasts) >= 4.5


def test_that_a_panel_is_named_by_its_question(qtbot, light):
    panel = QuestionPanel("Do they rank the sets alike?")
    qtbot.addWidget(panel)
    panel.set_question("Who stands apart?")
    assert panel.accessibleName() == "Who stands apart?"


@pytest.mark.slow
def test_that_every_part_follows_a_change_of_theme(qtbot, page, picture, qapp):
    page.resize(1280, 720)
    with qtbot.waitExposed(page):
        page.show()
    light_ground = picture(page).image.pixelColor(3, 3).name()
    apply_theme(qapp, "dark")
    QApplication.processEvents()
    dark = picture(page)
    assert dark.image.pixelColor(3, 3).name() != light_ground
    left_over = dark.count("#F4F3F0") + dark.count("#FFFFFF")
    apply_theme(qapp, "light")
    assert left_over == 0


DOUBLED = """
from PySide6.QtCore import QRect
from PySide6.QtWidgets import QApplication
app = QApplication([])
from app.parts.ladder import ScoreLadder
from app.parts.theme import apply_theme, current_theme
apply_theme(app, "light")
ladder = ScoreLadder("Hiss", "air rush, 1-4 kHz")
ladder.resize(1200, 74)
ladder.set_mark("A", 7.0)
image = ladder.grab().toImage()
colour = image.pixelColor(2 * ladder.rail_x(7.0), 2 * ladder.rail_y()).name().upper()
print(image.width(), image.height(), colour == current_theme().side_a)
"""


def test_that_a_screen_at_twice_the_scale_gets_twice_the_pixels():
    environment = {**os.environ, "QT_SCALE_FACTOR": "2", "QT_QPA_PLATFORM": "offscreen"}
    done = subprocess.run(
        [sys.executable, "-c", DOUBLED],
        cwd=PROJECT,
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.split() == ["2400", "148", "True"]
