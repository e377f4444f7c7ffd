"""A study made on the page, with the mouse and with the keys."""

from dataclasses import replace

import pytest
from draft_pages import LEFT, button, drop, wait_until_read
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QApplication, QLabel

from app.lead.new_study.page import NewStudyPage
from ratings.intake.how_recorded import HowRecorded
from ratings.intake.run_draft import CalibrationDraft
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.study_folder import open_study


def test_that_a_study_is_made_with_the_mouse_alone_but_for_its_name(
    qtbot, page, dialogs, recordings, tmp_path
):
    dialogs.files = recordings
    qtbot.mouseClick(page.grid_panel.choose, LEFT)
    wait_until_read(qtbot, page.presenter)
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
    wait_until_read(qtbot, page.presenter)
    tab_to(page.foot.make)
    with qtbot.waitSignal(page.study_made, timeout=20_000) as made:
        keys(Qt.Key.Key_Space)
    assert made.args[0].name == "Alder wagon"
    study = open_study(made.args[0])
    assert session_seats(study)[0].pair_count == 3
    study.close()


def test_that_a_refusal_stands_in_the_message_bar_until_the_draft_changes(
    qtbot, page, recordings, tmp_path
):
    drop(page, recordings)
    wait_until_read(qtbot, page.presenter)
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
    wait_until_read(qtbot, page.presenter)
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


def test_that_the_press_that_lowers_all_clips_stands_where_the_study_is_made(
    qtbot, page, recordings, tmp_path
):
    phones = tmp_path / "phones.csv"
    phones.write_text("8.0\n")
    drop(page, recordings)
    wait_until_read(qtbot, page.presenter)
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


@pytest.mark.slow
def test_that_the_keys_of_the_page_are_shown_by_a_question_mark(qtbot, page):
    qtbot.keyClicks(page.grid_panel.choose, "?")
    assert page.keys.isVisible()
    qtbot.keyClick(page.keys, Qt.Key.Key_Escape)
    assert not page.keys.isVisible()
    assert QApplication.focusWidget() is page.grid_panel.choose


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
