from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QFontMetricsF
from PySide6.QtWidgets import QApplication, QLabel, QPushButton, QWidget
from studies import write_noise

from app.lead.new_study.cell import CELL_HEIGHT_PX, first_line
from app.lead.new_study.page import NewStudyPage
from app.lead.new_study.presenter import NewStudyPresenter
from app.parts.asking import Question
from app.parts.buttons import QuietButton
from app.parts.fonts import font
from app.parts.theme import apply_theme
from ratings.intake.how_recorded import HowRecorded
from ratings.intake.run_draft import CalibrationDraft
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.study_folder import open_study

LEFT = Qt.MouseButton.LeftButton


class Dialogs:
    """Answers in place of the system's dialogs, and remembers where they began."""

    def __init__(self) -> None:
        self.files: list[Path] = []
        self.folder: Path | None = None
        self.began_in: list[Path] = []

    def ask_files(self, _parent: QWidget, folder: Path) -> list[Path]:
        self.began_in.append(folder)
        return self.files

    def ask_folder(self, _parent: QWidget, folder: Path) -> Path | None:
        self.began_in.append(folder)
        return self.folder


@pytest.fixture
def dialogs():
    return Dialogs()


@pytest.fixture
def page(qtbot, qapp, dialogs, tmp_path):
    apply_theme(qapp, "light")
    presenter = NewStudyPresenter(tmp_path / "out", draw_seed=lambda: 7)
    page = NewStudyPage(presenter, dialogs.ask_files, dialogs.ask_folder)
    qtbot.addWidget(page)
    page.resize(1280, 720)
    page.show()
    qtbot.waitExposed(page)
    page.activateWindow()
    return page


@pytest.fixture
def light_font(page):
    return QFontMetricsF(font("small"))


@pytest.fixture
def recordings(tmp_path):
    return [
        write_noise(tmp_path / f"{name}_coarse_80.wav", seed)
        for seed, name in enumerate(("maple", "birch"), start=1)
    ]


def button(page, words, kind=QPushButton):
    return next(b for b in page.findChildren(kind) if b.text() == words and b.isVisible())


def wait_until_read(qtbot, page):
    presenter = page.presenter
    qtbot.waitUntil(
        lambda: all(presenter.review.cell(f.cell).kind != "reading" for f in presenter.draft.files)
    )


def drop(target, paths):
    """Drag files onto a widget and let go."""
    mime = QMimeData()
    mime.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    action, none = Qt.DropAction.CopyAction, Qt.KeyboardModifier.NoModifier
    enter = QDragEnterEvent(QPoint(20, 20), action, mime, LEFT, none)
    QApplication.sendEvent(target, enter)
    QApplication.sendEvent(target, QDropEvent(QPointF(20, 20), action, mime, LEFT, none))
    return enter.isAccepted()


def test_that_a_study_is_made_with_the_mouse_alone_but_for_its_name(
    qtbot, page, dialogs, recordings, tmp_path
):
    dialogs.files = recordings
    qtbot.mouseClick(page.grid_panel.choose, LEFT)
    wait_until_read(qtbot, page)
    assert page.heading.text() == "Which set is the control?"
    assert not page.foot.make.isEnabled()
    qtbot.mouseClick(page.fields.name, LEFT)
    qtbot.keyClicks(page.fields.name, "Week 31")
    second = page.grid.sets[2].control
    qtbot.mouseClick(second, LEFT, pos=QPoint(16, second.height() // 2))
    boom = page.attributes.rows["boom"].box
    qtbot.mouseClick(boom, LEFT, pos=QPoint(16, boom.height() // 2))
    assert page.heading.text().startswith("Ready: 1 candidate against control birch, 3 pairs each")
    dialogs.folder = tmp_path / "elsewhere"
    qtbot.mouseClick(page.foot.change_place, LEFT)
    with qtbot.waitSignal(page.study_made, timeout=20_000) as made:
        qtbot.mouseClick(page.foot.make, LEFT)
    assert made.args[0] == tmp_path / "elsewhere" / "Week 31"
    study = open_study(made.args[0])
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    assert len(desk.pairs) == 3
    assert "boom" not in [a.key for a in study.attributes]
    study.close()


def test_that_a_study_is_made_with_the_keyboard_alone(qtbot, page, dialogs, recordings):
    def keys(*pressed):
        for key in pressed:
            qtbot.keyClick(QApplication.focusWidget(), key)

    def tab_to(target):
        for _ in range(60):
            if QApplication.focusWidget() is target:
                return
            keys(Qt.Key.Key_Tab)
        pytest.fail(f"Tab does not lead to {target.accessibleName() or target}")

    assert QApplication.focusWidget() is page.grid_panel.choose
    tab_to(page.grid_panel.by_hand)
    keys(Qt.Key.Key_Space)
    assert QApplication.focusWidget() is page.grid.drawer.surface
    keys(Qt.Key.Key_Return)
    assert QApplication.focusWidget() is page.grid.heads[1]
    keys(Qt.Key.Key_Space)
    assert QApplication.focusWidget() is page.grid.drawer.surface
    qtbot.keyClicks(page.grid.drawer.surface, "coarse asphalt")
    keys(Qt.Key.Key_Return)
    assert QApplication.focusWidget() is page.grid.heads[1]
    for set_id, recording in enumerate(recordings, start=1):
        tab_to(page.grid.sets[set_id].name)
        page.grid.sets[set_id].name.selectAll()
        qtbot.keyClicks(page.grid.sets[set_id].name, recording.stem[:5])
        dialogs.files = [recording]
        tab_to(page.grid.cells[set_id, 1])
        keys(Qt.Key.Key_Return)
    tab_to(page.grid.sets[1].control)
    keys(Qt.Key.Key_Space)
    tab_to(page.fields.vehicle)
    qtbot.keyClicks(page.fields.vehicle, "Alder wagon")
    wait_until_read(qtbot, page)
    tab_to(page.foot.make)
    with qtbot.waitSignal(page.study_made, timeout=20_000) as made:
        keys(Qt.Key.Key_Space)
    assert made.args[0].name == "Alder wagon"
    study = open_study(made.args[0])
    assert session_seats(study)[0].pair_count == 3
    study.close()


def test_that_files_dropped_on_the_page_are_spread_by_their_names(qtbot, page, recordings):
    assert drop(page, recordings)
    assert [s.name.text() for s in page.grid.sets.values()] == ["maple", "birch"]
    wait_until_read(qtbot, page)
    assert page.grid.cells[1, 1].accessibleName() == (
        "maple on coarse, 80 km/h: maple_coarse_80.wav 8 kHz stereo 2.5 s"
    )


def test_that_a_file_dropped_on_a_cell_goes_there_whatever_its_name(qtbot, page, recordings):
    drop(page, recordings)
    page.presenter.change(replace(page.presenter.draft, name="Week 31"))
    page.presenter.change(page.presenter.draft.with_control(1))
    assert drop(page.grid.cells[1, 1], [recordings[1]])
    assert page.presenter.draft.file_in((1, 1)) == recordings[1]
    wait_until_read(qtbot, page)
    assert "holds the same recording" in page.heading.text()


def test_that_words_dragged_onto_a_cell_are_not_taken(page, recordings):
    drop(page, recordings)
    assert not drop(page.grid.cells[1, 1], [])
    assert page.presenter.draft.file_in((1, 1)) == recordings[0]


def test_that_delete_and_the_close_button_empty_a_cell(qtbot, page, recordings):
    drop(page, recordings)
    cells = page.grid.cells
    qtbot.keyClick(cells[1, 1], Qt.Key.Key_Delete)
    assert page.presenter.draft.file_in((1, 1)) is None
    qtbot.mouseMove(cells[2, 1])
    close = cells[2, 1]._close
    qtbot.waitUntil(close.isVisible)
    qtbot.mouseClick(close, LEFT)
    assert page.presenter.draft.file_in((2, 1)) is None
    assert cells[2, 1].height() == CELL_HEIGHT_PX


def test_that_a_bad_file_is_told_in_words_on_the_page(qtbot, page, recordings):
    recordings[1].write_text("Dear colleague")
    drop(page, recordings)
    wait_until_read(qtbot, page)
    page.fields.name.setFocus()
    qtbot.keyClicks(page.fields.name, "Week 31")
    assert "no header" in page.grid.cells[2, 1].accessibleName()
    assert page.heading.text() == "birch_coarse_80.wav cannot be used."
    assert "has no header" in page.advice.text()
    assert "has no header" in page.grid.cells[2, 1].accessibleDescription()
    assert not page.foot.make.isEnabled()


def test_that_a_refusal_stands_in_the_message_bar_until_the_draft_changes(
    qtbot, page, recordings, tmp_path
):
    drop(page, recordings)
    wait_until_read(qtbot, page)
    page.presenter.change(replace(page.presenter.draft, name="Week 31"))
    page.presenter.change(page.presenter.draft.with_control(1))
    (tmp_path / "out").write_text("a file in the way")
    qtbot.mouseClick(page.foot.make, LEFT)
    qtbot.waitUntil(page.messages.isVisible)
    assert "No study can be made in out" in page.messages.accessibleName()
    assert page.presenter.draft.files
    page.presenter.change(replace(page.presenter.draft, place=tmp_path / "free"))
    assert not page.messages.isVisible()


def test_that_cancel_stops_the_making_and_leaves_nothing(qtbot, page, recordings, tmp_path):
    drop(page, recordings)
    wait_until_read(qtbot, page)
    page.presenter.change(replace(page.presenter.draft, name="Week 31"))
    page.presenter.change(page.presenter.draft.with_control(1))
    draft = page.presenter.draft
    qtbot.mouseClick(page.foot.make, LEFT)
    assert page.heading.text() == "The study is being made."
    assert not page.grid.isEnabled()
    assert QApplication.focusWidget() is page.foot.cancel
    qtbot.mouseClick(page.foot.cancel, LEFT)
    qtbot.waitUntil(lambda: page.presenter.maker.state is None)
    assert list((tmp_path / "out").iterdir()) == []
    assert page.presenter.draft is draft
    assert page.foot.make.isEnabled()
    assert page.grid.isEnabled()


def test_that_an_own_attribute_is_taken_only_with_a_definition(qtbot, page):
    attributes = page.attributes
    qtbot.mouseClick(attributes.add, LEFT)
    qtbot.keyClicks(attributes.card.name, "Rattle & buzz")
    qtbot.mouseClick(attributes.card.keep, LEFT)
    assert "no definition" in attributes.card._problem.text()
    qtbot.keyClicks(attributes.card.definition, "loose trim")
    assert attributes.card._problem.text() == ""
    qtbot.keyClick(attributes.card.definition, Qt.Key.Key_Return)
    added = page.presenter.draft.attributes[-1]
    assert (added.key, added.definition) == ("rattle_buzz", "loose trim")
    assert attributes.rows["rattle_buzz"].box.isChecked()
    assert attributes.rows["rattle_buzz"].isVisible()


def test_that_esc_closes_the_card_and_the_drawer_before_it_leaves(qtbot, page, recordings):
    gone = []
    page.left.connect(lambda: gone.append(True))
    drop(page, recordings)
    qtbot.mouseClick(page.attributes.rows["boom"].edit, LEFT)
    qtbot.keyClick(page.attributes.card.name, Qt.Key.Key_Escape)
    qtbot.mouseClick(page.grid.heads[1], LEFT)
    assert page.grid.drawer.isVisible()
    qtbot.keyClick(page.grid.drawer.surface, Qt.Key.Key_Escape)
    assert not page.grid.drawer.isVisible()
    assert gone == []
    qtbot.keyClick(page.grid.heads[1], Qt.Key.Key_Escape)
    assert gone == [True]


def test_that_esc_closes_what_is_open_wherever_the_keys_are(qtbot, page, recordings):
    drop(page, recordings)
    qtbot.mouseClick(page.attributes.rows["boom"].edit, LEFT)
    qtbot.mouseClick(page.grid.heads[1], LEFT)
    with qtbot.assertNotEmitted(page.left):
        qtbot.keyClick(page.fields.vehicle, Qt.Key.Key_Escape)
        qtbot.keyClick(page.fields.vehicle, Qt.Key.Key_Escape)
    assert not page.grid.drawer.isVisible()
    assert not page.attributes.card.isVisible()


def write_attribute(qtbot, page, name, definition=""):
    qtbot.mouseClick(page.attributes.add, LEFT)
    qtbot.keyClicks(page.attributes.card.name, name)
    qtbot.keyClicks(page.attributes.card.definition, definition)


def test_that_esc_asks_before_a_written_attribute_is_lost(qtbot, page):
    write_attribute(qtbot, page, "Rattle")
    card = page.attributes.card
    qtbot.keyClick(card.name, Qt.Key.Key_Escape)
    question = page.findChild(Question)
    assert "The attribute Rattle is written and not kept." in question.accessibleDescription()
    qtbot.keyClick(question, Qt.Key.Key_Escape)
    assert card.isVisible()
    assert card.name.text() == "Rattle"
    qtbot.waitUntil(lambda: page.findChild(Question) is None)
    qtbot.keyClick(card.name, Qt.Key.Key_Escape)
    qtbot.mouseClick(page.findChild(Question).go, LEFT)
    assert not card.isVisible()
    assert page.presenter.written is None


def test_that_an_attribute_that_is_written_is_taken_when_the_study_is_made(
    qtbot, page, recordings, monkeypatch
):
    made = []
    monkeypatch.setattr(page.presenter.maker, "make", lambda _folder, plan: made.append(plan))
    drop(page, recordings)
    wait_until_read(qtbot, page)
    page.presenter.change(replace(page.presenter.draft, vehicle="Alder"))
    page.presenter.change(page.presenter.draft.with_control(1))
    write_attribute(qtbot, page, "Rattle")
    assert page.heading.text() == "Rattle has no definition yet."
    assert not page.foot.make.isEnabled()
    qtbot.keyClicks(page.attributes.card.definition, "loose trim")
    qtbot.mouseClick(page.foot.make, LEFT)
    assert [a.name for a in made[0].attributes][-1] == "Rattle"
    assert not page.attributes.card.isVisible()


def test_that_an_attribute_that_is_written_is_there_again_when_the_page_returns(
    qtbot, page, dialogs
):
    write_attribute(qtbot, page, "Rattle", "loose")
    again = NewStudyPage(page.presenter, dialogs.ask_files, dialogs.ask_folder)
    qtbot.addWidget(again)
    assert again.attributes.is_open
    card = again.attributes.card
    assert (card.name.text(), card.definition.text()) == ("Rattle", "loose")


def test_that_the_press_that_lowers_all_clips_stands_where_the_study_is_made(
    qtbot, page, recordings, tmp_path
):
    phones = tmp_path / "phones.csv"
    phones.write_text("8.0\n")
    drop(page, recordings)
    wait_until_read(qtbot, page)
    page.presenter.change(replace(page.presenter.draft, name="Week 31"))
    page.presenter.change(page.presenter.draft.with_control(1))
    page.presenter.change_recorded(HowRecorded(equaliser=phones))
    qtbot.waitUntil(page.foot.make.isEnabled)
    qtbot.mouseClick(page.foot.make, LEFT)
    qtbot.waitUntil(page.foot.offer.isVisible, timeout=20000)
    assert not page.foot.make.isVisible()
    assert not page.messages.isVisible()
    assert QApplication.focusWidget() is page.foot.offer
    qtbot.keyClick(page.foot.offer, Qt.Key.Key_Space)
    assert QApplication.focusWidget() is page.foot.make
    lowered_db = -page.presenter.draft.gain_db
    assert page.foot.gain.text() == f"Undo: all clips {lowered_db:.1f} dB lower"
    qtbot.mouseClick(page.foot.gain, LEFT)
    assert page.presenter.draft.gain_db == 0.0


def test_that_the_condition_is_described_in_its_drawer(qtbot, page, recordings):
    drop(page, recordings)
    qtbot.mouseClick(page.grid.heads[1], LEFT)
    drawer = page.grid.drawer
    qtbot.keyClicks(drawer.surface, "smooth concrete")
    drawer.manoeuvre.setFocus()
    qtbot.keyClick(drawer.manoeuvre, Qt.Key.Key_Down)
    drawer.end_speed.setFocus()
    drawer.end_speed.selectAll()
    qtbot.keyClicks(drawer.end_speed, "40")
    qtbot.keyClick(drawer.end_speed, Qt.Key.Key_Return)
    titles = [c.title for c in page.presenter.draft.conditions]
    assert titles == ["smooth concrete, coast-down, 80 to 40 km/h"]
    qtbot.mouseClick(button(page, "Remove", QuietButton), LEFT)
    assert page.presenter.draft.conditions == ()
    assert page.presenter.draft.files == ()


@pytest.mark.slow
def test_that_the_draft_is_there_again_when_the_page_returns(
    qtbot, page, dialogs, recordings, tmp_path
):
    drop(page, recordings)
    page.presenter.change(replace(page.presenter.draft, name="Week 31"))
    page.presenter.change(page.presenter.draft.with_evaluator_names("Ada, Bo, Cy"))
    page.presenter.change_recorded(HowRecorded(calibration=CalibrationDraft("factor", 20.0)))
    page.presenter.change(page.presenter.draft.with_control(1))
    page.close()
    again = NewStudyPage(page.presenter, dialogs.ask_files, dialogs.ask_folder)
    qtbot.addWidget(again)
    assert [s.name.text() for s in again.grid.sets.values()] == ["maple", "birch"]
    assert again.grid.sets[1].control.isChecked()
    assert again.fields.name.text() == "Week 31"
    assert again.fields.names.text() == "Ada, Bo, Cy"
    assert (again.fields.count.value(), again.fields.recorded.text()) == (3, "ears 1 and 2, 20 Pa")


@pytest.mark.slow
def test_that_the_dialog_begins_where_files_were_chosen_last(
    qtbot, page, dialogs, recordings, tmp_path
):
    qtbot.mouseClick(page.grid_panel.choose, LEFT)
    dialogs.files = recordings
    qtbot.mouseClick(page.grid_panel.choose, LEFT)
    qtbot.mouseClick(button(page, "Choose recordings"), LEFT)
    assert dialogs.began_in == [tmp_path / "out", tmp_path / "out", tmp_path]


def test_that_taking_the_control_out_leaves_no_other_marked(qtbot, page, recordings):
    drop(page, recordings)
    control = page.grid.sets[1].control
    qtbot.mouseClick(control, LEFT, pos=QPoint(16, control.height() // 2))
    assert control.isChecked()
    qtbot.mouseClick(page.grid.sets[1]._out, LEFT)
    assert list(page.grid.sets) == [2]
    assert not page.grid.sets[2].control.isChecked()
    assert list(page.grid.cells) == [(2, 1)]


@pytest.mark.slow
def test_that_the_keys_of_the_page_are_shown_by_a_question_mark(qtbot, page):
    qtbot.keyClicks(page.grid_panel.choose, "?")
    assert page.keys.isVisible()
    qtbot.keyClick(page.keys, Qt.Key.Key_Escape)
    assert not page.keys.isVisible()
    assert QApplication.focusWidget() is page.grid_panel.choose


def test_that_a_reason_is_parted_into_two_lines_between_its_words(light_font):
    words = "is named like a sound file, but has no header of one"
    first, rest = first_line(
        words, light_font, light_font.horizontalAdvance("is named like a sound")
    )
    assert (first, rest) == ("is named like a sound", "file, but has no header of one")
    assert first_line("silent", light_font, 1.0) == ("silent", "")


@pytest.mark.slow
def test_that_evenness_is_not_asked_without_a_coast_down(qtbot, page, recordings):
    row = page.attributes.rows["evenness"]
    assert row.box.isChecked()
    drop(page, recordings)
    assert not row.box.isChecked()
    assert not row.box.isEnabled()
    assert row.box.accessibleDescription() == "not asked: needs a coast-down"
    condition = page.presenter.draft.conditions[0]
    page.presenter.change(
        page.presenter.draft.with_changed_condition(
            replace(condition, manoeuvre="coast-down", end_speed_km_h=40.0)
        )
    )
    assert row.box.isChecked()
    assert "falls with speed" in row.box.accessibleDescription()


@pytest.mark.slow
def test_that_esc_closes_a_message_before_it_leaves(qtbot, page, recordings):
    drop(page, recordings)
    page.presenter.make()
    assert page.messages.isVisible()
    with qtbot.assertNotEmitted(page.left):
        qtbot.keyClick(page.grid.heads[1], Qt.Key.Key_Escape)
    assert not page.messages.isVisible()
    with qtbot.waitSignal(page.left):
        qtbot.keyClick(page.grid.heads[1], Qt.Key.Key_Escape)


def test_that_the_screen_says_nothing_about_sources_of_practice(page):
    words = " ".join(label.text() for label in page.findChildren(QLabel))
    assert "no source" not in words
    assert "Evaluators see only blind codes." in words
    assert button(page, "Choose another folder") is page.foot.change_place


@pytest.mark.slow
def test_that_a_file_that_cannot_be_used_is_brought_into_sight(qtbot, page, recordings, tmp_path):
    more = [write_noise(tmp_path / f"{n}_coarse_80.wav", 20 + k) for k, n in enumerate("pqrst")]
    drop(page, [*recordings, *more])
    wait_until_read(qtbot, page)
    bad = tmp_path / "zeta_coarse_80.wav"
    bad.write_text("Dear colleague")
    drop(page, [bad])
    cell = page.grid.cells[8, 1]
    qtbot.waitUntil(lambda: cell.is_refused)
    view = page.grid._scroll.viewport()
    top = cell.mapTo(view, QPoint(0, 0)).y()
    assert top >= 0
    assert top + cell.height() <= view.height()
