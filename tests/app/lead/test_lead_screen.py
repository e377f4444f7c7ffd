import pytest
from lead_pages import LEFT, all_words, button, row_middle, shown_words
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import (
    QAbstractButton,
    QComboBox,
    QLabel,
    QLineEdit,
    QPushButton,
    QWidget,
)
from studies import SETS, Clock, hear_both, rate_pair, small_study

from app.lead.agreement.deviation_map import DeviationMap
from app.lead.agreement.icc_plot import IccPlot, IccRow
from app.lead.lead_screen import LeadScreen
from app.parts.icons import TOUCH_PX
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.study_folder import open_study
from ratings.study.sets import Vehicle


def test_that_the_page_is_headed_by_the_finding(open_screen, study):
    screen = open_screen(study)
    words = shown_words(screen)
    assert "The panel agrees on boom, not on rumble." in words
    assert "Do they rank the sets alike? Kendall's W, 95 % interval" in words
    assert "Who stands apart? Deviation from the panel, boom" in words


def test_that_every_station_finds_room_in_a_window_of_960_by_540(open_screen, study):
    screen = open_screen(study)
    assert screen.minimumSizeHint().width() <= 960
    assert screen.minimumSizeHint().height() <= 540
    screen.resize(960, 540)
    for station in screen.stations:
        assert button(screen, station.name).height() >= TOUCH_PX


@pytest.mark.slow
def test_that_the_first_two_panels_need_no_scrolling_at_1280_by_720(qtbot, open_screen, study):
    screen = open_screen(study)
    page = screen.agreement_page
    view = page.sheet.viewport()
    for panel in page.panels[:2]:
        top = panel.mapTo(view, QPoint(0, 0)).y()
        assert top >= 0
        assert top + panel.height() <= view.height()
        assert panel.mapTo(screen, QPoint(panel.width(), 0)).x() <= screen.width()


@pytest.mark.slow
@pytest.mark.parametrize("size", [(960, 540), (1280, 720), (1920, 1080)])
def test_that_no_panel_is_cut_off_at_the_side(qtbot, open_screen, study, size):
    screen = open_screen(study)
    screen.resize(*size)
    view = screen.agreement_page.sheet.viewport()
    for panel in screen.agreement_page.panels:
        qtbot.waitUntil(
            lambda panel=panel: panel.mapTo(view, QPoint(panel.width(), 0)).x() <= view.width()
        )
        assert panel.width() >= panel.minimumSizeHint().width()
    assert screen.width() == size[0]


@pytest.mark.slow
def test_that_up_and_down_choose_the_attribute_with_keys_alone(qtbot, open_screen, study):
    screen = open_screen(study)
    plot = screen.agreement_page.panels[0].plot
    qtbot.waitUntil(plot.hasFocus)
    qtbot.keyClick(plot, Qt.Key.Key_Down)
    assert "Who stands apart? Deviation from the panel, rumble" in shown_words(screen)
    qtbot.keyClick(plot, Qt.Key.Key_Up)
    assert "Who stands apart? Deviation from the panel, boom" in shown_words(screen)


def test_that_a_click_on_a_row_chooses_the_attribute(qtbot, open_screen, study):
    screen = open_screen(study)
    plot = screen.agreement_page.panels[0].plot
    qtbot.mouseClick(plot, LEFT, pos=row_middle(plot, 1))
    assert screen.presenter.chosen.attribute == "rumble"
    assert "Do they give the same numbers? ICC, rumble" in shown_words(screen)


@pytest.mark.slow
def test_that_the_map_shows_deviations_with_and_without_each_level(qtbot, open_screen, study):
    screen = open_screen(study)
    panel = screen.agreement_page.panels[1]
    # P5 rates one point above the level of P1; the panel's mean level is 0.25.
    assert "P5: " in panel.map.in_words()
    p5 = panel.map.in_words().split("P5: ")[1]
    assert p5.count("+0.8") == 3
    box = panel.switch
    qtbot.mouseClick(box, LEFT, pos=QPoint(12, box.height() // 2))
    p5 = panel.map.in_words().split("P5: ")[1]
    assert p5.count("0.0") == 3


@pytest.mark.slow
def test_that_the_condition_is_chosen_with_the_keys(qtbot, open_screen, study):
    screen = open_screen(study)
    chooser = screen.agreement_page.findChild(QComboBox)
    assert [chooser.itemText(n) for n in range(chooser.count())] == [
        "all conditions",
        "coarse asphalt, 80 km/h",
        "smooth asphalt, coast-down, 80 to 40 km/h",
    ]
    chooser.setFocus()
    qtbot.keyClick(chooser, Qt.Key.Key_Down)
    assert screen.presenter.condition == "coarse asphalt, 80 km/h"
    assert any("3 coded sets, coarse asphalt, 80 km/h." in words for words in shown_words(screen))


def test_that_flagged_evaluators_are_told_in_words_and_nobody_is_dropped(qtbot, open_screen, study):
    screen = open_screen(study)
    panel = screen.agreement_page.panels[3]
    model = panel.table.findings
    says = [model.index(row, model.columnCount() - 1).data() for row in range(model.rowCount())]
    flagged = [row for row, words in enumerate(says) if words]
    colours = {
        row: model.index(row, 0).data(Qt.ItemDataRole.ForegroundRole)
        for row in range(model.rowCount())
    }
    assert [row for row, colour in colours.items() if colour is not None] == flagged
    assert model.rowCount() == 5
    assert "All 5 counted: W 1.00" in panel.sentence.text()


def test_that_the_table_of_evaluators_is_copied_as_text(qtbot, open_screen, study):
    screen = open_screen(study)
    table = screen.agreement_page.panels[3].table
    table.setFocus()
    qtbot.keyClick(table, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    lines = QGuiApplication.clipboard().text().splitlines()
    assert lines[0].split("\t")[0] == "evaluator"
    assert [line.split("\t")[0] for line in lines[1:]] == ["P1", "P2", "P3", "P4", "P5"]
    assert lines[5].split("\t")[4] == "6 to 8.75"


@pytest.mark.slow
def test_that_the_model_of_the_table_keeps_the_rules_of_models(
    qtbot, qtmodeltester, open_screen, study
):
    screen = open_screen(study)
    qtmodeltester.check(screen.agreement_page.panels[3].table.findings)


def test_that_a_score_given_through_another_connection_comes_on_the_page(
    qtbot, open_screen, empty_study
):
    screen = open_screen(empty_study)
    assert "Nobody has rated yet." in shown_words(screen)
    assert not button(screen, "Save the agreement report (HTML)").isEnabled()
    other = open_study(empty_study.folder.path)
    try:
        desk = ListeningDesk(other, session_seats(other)[0].session_id, Clock())
        rate_pair(desk, desk.pairs[0])
    finally:
        other.close()
    screen.watch.look()
    qtbot.waitUntil(lambda: "Only E1 has rated so far." in shown_words(screen))
    assert button(screen, "Save the agreement report (HTML)").isEnabled()


def test_that_the_empty_page_leads_to_the_panel(qtbot, open_screen, empty_study):
    screen = open_screen(empty_study)
    qtbot.waitUntil(button(screen, "See who takes part").hasFocus)
    qtbot.keyClick(button(screen, "See who takes part"), Qt.Key.Key_Space)
    assert "0 of 2 evaluators have finished, 2 have not begun." in shown_words(screen)


@pytest.mark.slow
def test_that_the_rail_says_what_is_missing_at_each_station(qtbot, open_screen, empty_study):
    screen = open_screen(empty_study)
    assert button(screen, "Study").accessibleDescription() == "3 sets, 2 conditions, done"
    assert button(screen, "Panel").accessibleDescription() == "2 have not begun, not done yet"
    assert button(screen, "Agreement").accessibleDescription() == "no scores yet, not done yet"
    desk = ListeningDesk(empty_study, session_seats(empty_study)[0].session_id, Clock())
    for pair in desk.pairs:
        rate_pair(desk, pair)
    screen.watch.look()
    qtbot.waitUntil(
        lambda: "1 of 2 finished" in button(screen, "Agreement").accessibleDescription()
    )
    assert button(screen, "Panel").accessibleDescription() == "1 has not begun, not done yet"


@pytest.mark.slow
def test_that_a_seat_needs_a_name_or_initials(qtbot, open_screen, empty_study):
    screen = open_screen(empty_study)
    qtbot.mouseClick(button(screen, "Panel"), LEFT)
    field = screen.panel_page.findChild(QLineEdit)
    qtbot.keyClicks(field, "  ")
    qtbot.mouseClick(button(screen, "Add a seat"), LEFT)
    assert "Write a name or initials first." in shown_words(screen)
    assert len(session_seats(empty_study)) == 2
    qtbot.keyClick(field, Qt.Key.Key_Escape)
    assert not screen.messages.isVisible()


def test_that_a_seat_is_added_with_the_keyboard(qtbot, open_screen, empty_study):
    screen = open_screen(empty_study)
    qtbot.mouseClick(button(screen, "Panel"), LEFT)
    field = screen.panel_page.findChild(QLineEdit)
    field.setFocus()
    qtbot.keyClicks(field, "Cleo")
    qtbot.keyClick(field, Qt.Key.Key_Return)
    assert [seat.evaluator.name for seat in session_seats(empty_study)] == ["Ada", "Bo", "Cleo"]
    qtbot.waitUntil(lambda: "Cleo" in shown_words(screen))
    assert field.text() == ""


def test_that_progress_shows_on_the_panel_page(qtbot, open_screen, empty_study):
    screen = open_screen(empty_study)
    screen.rail.choose("panel")
    desk = ListeningDesk(empty_study, session_seats(empty_study)[0].session_id, Clock())
    rate_pair(desk, desk.pairs[0])
    screen.watch.look()
    expected = f"under way, 1 of {len(desk.pairs)} pairs rated"
    qtbot.waitUntil(lambda: expected in shown_words(screen))
    assert "0 of 2 evaluators have finished, 1 is under way, 1 has not begun." in shown_words(
        screen
    )


def test_that_the_study_page_tells_what_is_in_it_on_codes(qtbot, open_screen, study):
    screen = open_screen(study)
    qtbot.keyClick(screen, Qt.Key.Key_1, Qt.KeyboardModifier.ControlModifier)
    words = " ".join(shown_words(screen))
    assert "3 coded sets on the Alder wagon, in 2 conditions." in words
    assert all(code in words for code in LeadDesk(study).codes())
    assert "pressure on the ears, 20-100 Hz" in words
    assert "seed" not in words
    assert f"{LeadDesk(study).control_code()} is the control" in words
    assert "6 pairs for each evaluator; one null pair and one repeat are hidden" in words
    assert "Clips last 2.5 s at steady speed, 2.5 s in a coast-down." in words
    assert "Sets stay coded here; the key is opened under Verdict." in words
    assert "Not calibrated" in words
    assert "Invented" not in words


@pytest.mark.slow
def test_that_an_invented_study_says_so_once(qtbot, open_screen, tmp_path):
    study = small_study(
        tmp_path,
        is_invented=True,
        vehicle=Vehicle("Alder wagon (invented)"),
        note="Tyres by Hollow Works (invented). People are invented too.",
    )
    try:
        screen = open_screen(study)
        screen.rail.choose("study")
        said = " ".join(w.text() for w in screen.study_page.findChildren(QLabel) if w.isVisible())
        assert "Invented data" in said
        assert said.lower().count("invented") == 1
        assert "Tyres by Hollow Works." in said
    finally:
        study.close()


@pytest.mark.slow
@pytest.mark.parametrize("station", ["study", "recordings", "panel", "agreement"])
def test_that_no_set_is_named_anywhere(open_screen, study, station):
    screen = open_screen(study)
    screen.rail.choose(station)
    said = " ".join(all_words(screen)).lower()
    assert "boom" in said
    assert not [name for name in SETS if name.lower() in said]


def test_that_everything_that_takes_the_focus_has_a_name(open_screen, study):
    screen = open_screen(study)
    nameless = []
    for station in ("study", "recordings", "panel", "agreement"):
        screen.rail.choose(station)
        nameless += [
            widget
            for widget in screen.findChildren(QWidget)
            if widget.focusPolicy() & Qt.FocusPolicy.TabFocus
            and widget.isVisible()
            and not widget.accessibleName()
            and not (isinstance(widget, QPushButton | QAbstractButton) and widget.text())
        ]
    assert nameless == []


def test_that_escape_and_the_button_go_back_to_the_doors(qtbot, open_screen, study):
    screen = open_screen(study)
    with qtbot.waitSignal(screen.left):
        qtbot.keyClick(screen.agreement_page.panels[0].plot, Qt.Key.Key_Escape)
    with qtbot.waitSignal(screen.left):
        qtbot.mouseClick(button(screen, "Back to start"), LEFT)


def test_that_escape_closes_a_message_before_it_goes_back(qtbot, open_screen, study):
    screen = open_screen(study)
    screen.messages.tell("Something happened.")
    plot = screen.agreement_page.panels[0].plot
    with qtbot.assertNotEmitted(screen.left):
        qtbot.keyClick(plot, Qt.Key.Key_Escape)
    assert not screen.messages.isVisible()
    with qtbot.waitSignal(screen.left):
        qtbot.keyClick(plot, Qt.Key.Key_Escape)


def test_that_the_question_mark_shows_the_keys_and_escape_only_closes_them(
    qtbot, open_screen, study
):
    screen = open_screen(study)
    plot = screen.agreement_page.panels[0].plot
    qtbot.keyClick(plot, "?")
    assert screen.keys_card.isVisible()
    with qtbot.assertNotEmitted(screen.left):
        qtbot.keyClick(screen.keys_card, Qt.Key.Key_Escape)
    assert not screen.keys_card.isVisible()


def test_that_notes_are_shown_as_plain_text_of_the_chosen_condition(
    qtbot, open_screen, study, tmp_path
):
    desk = ListeningDesk(study, session_seats(study)[0].session_id, Clock())
    coarse = next(p for p in desk.pairs if p.condition_title.startswith("coarse"))
    smooth = next(p for p in desk.pairs if p.condition_title.startswith("smooth"))
    long_word = "drone" * 40
    desk.record_note(coarse.pair_id, "A", "<b>loud</b> & low")
    desk.record_note(smooth.pair_id, "B", f"whine {long_word}")
    path = tmp_path / "report.html"
    screen = open_screen(study, [path])
    panel = screen.agreement_page.panels[4]
    words = [label.text() for label in panel.findChildren(QLabel)]
    assert "What did they write?" in words
    assert "<b>loud</b> & low" in words
    assert {"E1", "side A", "side B", coarse.condition_title} <= set(words)
    formats = {label.textFormat() for label in panel.findChildren(QLabel)}
    assert formats == {Qt.TextFormat.PlainText}
    assert panel.minimumSizeHint().width() < 900
    screen.presenter.choose_condition(smooth.condition_title)
    qtbot.waitUntil(
        lambda: f"whine {long_word}" in [w.replace("\u200b", "") for w in shown_words(screen)]
    )
    assert "<b>loud</b> & low" not in shown_words(screen)
    with qtbot.waitSignal(screen.transfers.told):
        qtbot.mouseClick(button(screen, "Save the agreement report (HTML)"), LEFT)
    page = path.read_text(encoding="utf-8")
    assert "&lt;b&gt;loud&lt;/b&gt; &amp; low" in page
    assert long_word in page


@pytest.mark.slow
def test_that_a_note_comes_on_the_page_when_its_pair_is_locked(qtbot, open_screen, study):
    screen = open_screen(study)
    assert "No notes yet." in shown_words(screen)
    desk = ListeningDesk(study, session_seats(study)[0].session_id, Clock())
    desk.record_note(desk.pairs[0].pair_id, "A", "rings")
    rate_pair(desk, desk.pairs[0])
    screen.watch.look()
    qtbot.waitUntil(lambda: "rings" in shown_words(screen))
    assert "No notes yet." not in shown_words(screen)


def test_that_a_negative_icc_is_a_triangle_at_the_left_end_with_its_number(qtbot, light):
    def picture(value):
        plot = IccPlot()
        qtbot.addWidget(plot)
        plot.show_rows([IccRow("one", value, None, None, "words")])
        plot.resize(plot.sizeHint())
        return plot.grab().toImage()

    zero, below, further = picture(0.0), picture(-0.31), picture(-0.42)
    assert below != zero
    # The triangle lies in the same place; the number beside it differs.
    assert below != further


def test_that_a_map_with_holes_says_where_there_is_no_score(qtbot, light):
    import numpy as np

    shown = DeviationMap()
    qtbot.addWidget(shown)
    shown.show_map(("E1", "E2"), ("303", "560"), np.array([[0.25, np.nan], [-0.25, 0.0]]))
    assert shown.in_words() == "E1: 303 +0.2, 560 –; E2: 303 −0.2, 560 0.0"


def test_that_a_listening_score_reaches_the_table_of_the_page(qtbot, open_screen, study):
    desk = ListeningDesk(study, session_seats(study)[0].session_id, Clock())
    hear_both(desk, desk.pairs[0].pair_id)
    desk.record_scores(desk.pairs[0].pair_id, "boom", {"A": 7.0, "B": 6.0})
    screen = open_screen(study)
    table = screen.agreement_page.panels[3].table.findings
    names = [table.headerData(n, Qt.Orientation.Vertical) for n in range(table.rowCount())]
    assert "E1" in names


def test_that_a_message_moves_nothing_under_the_pointer(qtbot, open_screen, empty_study):
    screen = open_screen(empty_study)
    screen.rail.choose("panel")
    add = button(screen.panel_page, "Add a seat")
    # Laid out once the page has been in sight; the sheet inside it a turn later.
    qtbot.waitUntil(lambda: add.mapTo(screen, QPoint(0, 0)).y() > screen.height() // 3)
    for _ in range(3):
        QGuiApplication.processEvents()
    before = add.mapTo(screen, QPoint(0, 0))
    screen.messages.tell("The disk is full.", "Free some space.", "attention")
    qtbot.wait(1)
    assert add.mapTo(screen, QPoint(0, 0)) == before
    over = screen.messages.geometry()
    assert over.left() > screen.rail.width()
    assert over.bottom() < add.mapTo(screen, QPoint(0, 0)).y()


def test_that_nothing_is_drawn_before_the_scores_are_read(qtbot, light, study):
    screen = LeadScreen(study)
    qtbot.addWidget(screen)
    screen.resize(1280, 720)
    screen.show()
    page = screen.agreement_page
    assert screen.presenter.judged is None
    assert not page.panels[0].plot.isVisible()
    qtbot.waitUntil(lambda: screen.presenter.judged is not None)
    assert page.panels[0].plot.isVisible()
