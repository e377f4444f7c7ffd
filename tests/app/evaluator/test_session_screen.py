import pytest
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel, QScrollArea, QWidget
from quiet_player import QuietPlayer
from studies import noon_today, small_study

from app.evaluator.session_presenter import SessionPresenter
from app.evaluator.session_screen import SessionScreen
from app.listening.session_keys import key_line
from app.parts.keys_card import KeysCard
from app.parts.ladder import ScoreLadder
from app.parts.message_bar import MessageBar
from app.parts.note_box import NoteBox
from app.parts.sides import SidePanel
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.study.attributes import DEFAULT_ATTRIBUTES


@pytest.fixture
def study(tmp_path):
    study = small_study(tmp_path, conditions=2, attributes=DEFAULT_ATTRIBUTES)
    yield study
    study.close()


def let_be_seen(screen):
    """Let the page of a break or of the end have been in sight for long enough."""
    screen._pages.currentWidget()._seen.stop()


def button(screen, words):
    return next(
        b for b in screen.findChildren(QAbstractButton) if b.text() == words and b.isVisible()
    )


def ladders(screen):
    return [ladder for ladder in screen.findChildren(ScoreLadder) if ladder.isVisible()]


def click_rail(ladder, score):
    QTest.mouseClick(
        ladder, Qt.MouseButton.LeftButton, pos=QPoint(ladder.rail_x(score), ladder.rail_y())
    )


def test_that_a_pair_is_rated_and_closed_with_the_keyboard_alone(screen, press):
    screen.player.hear_both()
    form = screen.presenter.form
    for _ in form.attributes:
        press(Qt.Key.Key_7, Qt.Key.Key_Right, Qt.Key.Key_Space, Qt.Key.Key_6)
        press(Qt.Key.Key_Space, Qt.Key.Key_Tab)
    assert {tuple(sorted(sides.items())) for sides in form.answers.scores.values()} == {
        (("A", 7.25), ("B", 6.0))
    }
    press(Qt.Key.Key_Return)
    assert form.answers.is_locked
    assert screen.presenter.form.pair.position == 2


def test_that_a_pair_is_rated_and_closed_with_the_mouse_alone(screen):
    screen.player.hear_both()
    form = screen.presenter.form
    panels = {panel.accessibleName()[-1]: panel for panel in screen.findChildren(SidePanel)}
    for side, score in (("A", 8.0), ("B", 6.5)):
        QTest.mouseClick(panels[side], Qt.MouseButton.LeftButton)
        assert screen.player.side == side
        for ladder in ladders(screen):
            click_rail(ladder, score)
    assert {tuple(sorted(sides.items())) for sides in form.answers.scores.values()} == {
        (("A", 8.0), ("B", 6.5))
    }
    QTest.mouseClick(button(screen, "Next pair"), Qt.MouseButton.LeftButton)
    assert screen.presenter.form.pair.position == 2


def test_that_a_mark_can_be_dragged_and_is_kept_once_at_the_release(study, screen):
    import sqlite3

    screen.player.hear_both()
    ladder = ladders(screen)[0]
    click_rail(ladder, 5.0)
    start = QPoint(ladder.rail_x(5.0), ladder.rail_y())
    end = QPoint(ladder.rail_x(8.5), ladder.rail_y())
    QTest.mousePress(ladder, Qt.MouseButton.LeftButton, pos=start)
    for part in range(1, 6):
        QTest.mouseMove(ladder, start + (end - start) * part / 5)
    QTest.mouseRelease(ladder, Qt.MouseButton.LeftButton, pos=end)
    values = sqlite3.connect(study.folder.database).execute("SELECT value FROM score").fetchall()
    assert values == [(5.0,), (8.5,)]


def test_that_an_unheard_pair_shows_no_mark_and_says_what_to_do(screen, press):
    press(Qt.Key.Key_7)
    assert all(ladder.mark_box(side) is None for ladder in ladders(screen) for side in "AB")
    assert screen._hint.text().startswith("Listen to each side")
    assert screen._hint.property("look") == "attention"
    assert ladders(screen)[0].sentence() == "listen to both sides first"


def test_that_the_clicked_ladder_gets_the_keys(screen, press):
    screen.player.hear_both()
    third = ladders(screen)[2]
    click_rail(third, 6.0)
    press(Qt.Key.Key_Left)
    assert screen.presenter.form.active == 2
    assert screen.presenter.form.answers.scores == {"cavity_ring": {"A": 5.75}}


def test_that_backspace_takes_a_score_back_and_equal_says_no_difference(screen, press):
    screen.player.hear_both()
    press(Qt.Key.Key_7, Qt.Key.Key_Backspace)
    assert ladders(screen)[0].mark_box("A") is None
    press(Qt.Key.Key_8, Qt.Key.Key_Equal)
    assert ladders(screen)[0].sentence() == "no difference"


def test_that_a_note_is_written_with_keys_and_kept(screen, qtbot, press):
    press(Qt.Key.Key_N)
    box = screen.findChild(NoteBox)
    assert box.isVisible()
    QTest.keyClicks(screen.focusWidget(), "rings 5 times")
    press(Qt.Key.Key_Escape)
    assert screen.presenter.note("A") == "rings 5 times"
    assert screen.presenter.form.answers.scores == {}
    assert button(screen, "note (1)")
    # The keys are back at the ladder.
    screen.player.hear_both()
    press(Qt.Key.Key_4, Qt.Key.Key_Return)
    assert screen.presenter.form.answers.scores == {"boom": {"A": 4.0}}


def test_that_the_question_mark_shows_every_key(screen, press):
    QTest.keyClick(screen.focusWidget(), Qt.Key.Key_Question, Qt.KeyboardModifier.ShiftModifier)
    card = screen.findChild(KeysCard)
    assert card.isVisible()
    for key in ("Space", "1-9, 0", "Tab", "Backspace", "Enter", "Esc"):
        assert key in card.accessibleDescription()
    press(Qt.Key.Key_Escape)
    assert not card.isVisible()


@pytest.mark.slow
def test_that_evenness_is_asked_only_where_it_can_be_heard(screen):
    presenter = screen.presenter
    seen = {}
    while not presenter.is_finished:
        names = {ladder.accessibleName() for ladder in ladders(screen)}
        seen.setdefault(presenter.form.pair.manoeuvre, names)
        screen.player.hear_both()
        for attribute in presenter.attributes:
            presenter.give(attribute.key, "A", 5.0)
            presenter.say_equal(attribute.key)
        presenter.go_on()
    assert "Evenness" in seen["coast-down"]
    assert "Evenness" not in seen["steady"]


@pytest.mark.slow
def test_that_the_end_says_that_everything_is_kept(screen, qtbot, press):
    presenter = screen.presenter
    while not presenter.is_finished:
        screen.player.hear_both()
        for attribute in presenter.attributes:
            presenter.give(attribute.key, "A", 5.0)
            presenter.say_equal(attribute.key)
        press(Qt.Key.Key_Return)
    words = [w.text() for w in screen.findChildren(QWidget) if hasattr(w, "text") and w.isVisible()]
    assert f"All {presenter.pair_count} pairs are rated." in words
    let_be_seen(screen)
    with qtbot.waitSignal(screen.left, timeout=1000):
        press(Qt.Key.Key_Return)


def test_that_long_words_never_widen_the_window(screen):
    screen._heading.setText("very coarse asphalt with joints, coast-down, 120 to 40 km/h " * 3)
    screen._level.setText("Not calibrated: neither the recording nor the output is calibrated." * 2)
    assert screen.minimumSizeHint().width() <= 1024


def test_that_the_level_is_said_in_full_on_a_small_screen(screen):
    level = screen._level
    assert level.text() == "Same gain for both sides; true level unknown."
    assert level.width() >= level.fontMetrics().horizontalAdvance(level.text())
    assert screen._heading.width() >= screen._heading.fontMetrics().horizontalAdvance(
        "Smooth asphalt, coast-down, 80 to 40 km/h"
    )


def test_that_all_ladders_are_in_sight_on_a_small_screen(screen):
    for ladder in ladders(screen):
        bottom = ladder.mapTo(screen, ladder.rect().bottomLeft()).y()
        assert 0 < bottom <= 720 - 60
        assert not ladder.visibleRegion().isEmpty()
        assert ladder.visibleRegion().boundingRect() == ladder.rect()


@pytest.mark.slow
def test_that_everything_that_takes_keys_or_clicks_has_a_name(screen):
    nameless = [
        widget
        for widget in screen.findChildren(QWidget)
        if widget.isVisible()
        and (widget.focusPolicy() != Qt.FocusPolicy.NoFocus or isinstance(widget, QAbstractButton))
        and not (widget.accessibleName() or getattr(widget, "text", str)())
    ]
    assert nameless == []


def test_that_escape_asks_to_leave(screen, qtbot, press):
    with qtbot.waitSignal(screen.left, timeout=1000):
        press(Qt.Key.Key_Escape)


def test_that_a_clip_that_is_gone_is_told_on_the_screen_of_its_pair(study, screen, press):
    presenter = screen.presenter
    screen.player.hear_both()
    for attribute in presenter.attributes:
        presenter.give(attribute.key, "A", 5.0)
        presenter.say_equal(attribute.key)
    for sound in (*study.folder.clips.iterdir(), *study.folder.recordings.iterdir()):
        sound.unlink()
    press(Qt.Key.Key_Return)
    assert presenter.form.pair.position == 2
    assert screen.findChild(MessageBar).isVisible()
    assert "clip" in screen.findChild(MessageBar).accessibleName().lower()
    for _ in range(presenter.pair_count - 1):
        QTest.mouseClick(button(screen, "Set this pair aside (S)"), Qt.MouseButton.LeftButton)
    words = [w.text() for w in screen.findChildren(QWidget) if hasattr(w, "text") and w.isVisible()]
    count = presenter.pair_count
    assert f"1 of {count} pairs are rated, {count - 1} set aside." in words
    assert presenter.locked_count == 1


def test_that_a_lost_device_offers_to_choose_another(screen, qtbot):
    from ratings.errors import PlaybackError

    screen.player.trouble_raised.emit(PlaybackError("The sound device is gone.", "Plug it in."))
    with qtbot.waitSignal(screen.device_asked, timeout=1000):
        QTest.mouseClick(button(screen, "Choose a device (D)"), Qt.MouseButton.LeftButton)


def test_that_a_note_left_open_is_kept_for_its_own_pair(screen, press):
    screen.player.hear_both()
    for attribute in screen.presenter.attributes:
        screen.presenter.give(attribute.key, "A", 5.0)
        screen.presenter.say_equal(attribute.key)
    first = screen.presenter.form
    press(Qt.Key.Key_N)
    QTest.keyClicks(screen.focusWidget(), "howls")
    QTest.mouseClick(button(screen, "Next pair"), Qt.MouseButton.LeftButton)
    assert first.answers.notes == {"A": "howls"}
    assert screen.presenter.form.pair.position == 2
    assert screen.presenter.note("A") == ""
    assert not screen.findChild(NoteBox).isVisible()


def test_that_the_keys_stay_with_the_attribute_after_a_note(screen, press):
    screen.player.hear_both()
    press(Qt.Key.Key_Down, Qt.Key.Key_N)
    QTest.keyClicks(screen.focusWidget(), "hums")
    press(Qt.Key.Key_Escape, Qt.Key.Key_7, Qt.Key.Key_Return)
    assert screen.presenter.form.answers.scores == {"rumble": {"A": 7.0}}


def test_that_a_message_goes_once_what_it_asked_for_was_done(screen, press):
    screen.player.hear_both()
    press(Qt.Key.Key_Return)
    assert "Boom has no score for side A yet" in screen._hint.text()
    press(Qt.Key.Key_6)
    assert "Boom has no score" not in screen._hint.text()


@pytest.mark.slow
def test_that_a_key_held_down_does_not_end_a_break(screen, qtbot, press):
    from PySide6.QtCore import QEvent
    from PySide6.QtGui import QKeyEvent
    from PySide6.QtWidgets import QApplication

    presenter = screen.presenter
    presenter.desk.breaks = (1,)
    screen.player.hear_both()
    for attribute in presenter.attributes:
        presenter.give(attribute.key, "A", 5.0)
        presenter.say_equal(attribute.key)
    press(Qt.Key.Key_Return)
    assert presenter.is_resting
    held = QKeyEvent(
        QEvent.Type.KeyPress, Qt.Key.Key_Return, Qt.KeyboardModifier.NoModifier, "", True
    )
    QApplication.sendEvent(screen.focusWidget(), held)
    assert presenter.is_resting
    let_be_seen(screen)
    QApplication.sendEvent(screen.focusWidget(), held)
    assert presenter.is_resting
    press(Qt.Key.Key_Return)
    assert not presenter.is_resting


@pytest.mark.slow
def test_that_a_score_is_taken_back_with_the_mouse_alone(screen):
    screen.player.hear_both()
    ladder = ladders(screen)[1]
    click_rail(ladder, 6.0)
    place = QPoint(ladder.rail_x(6.0), ladder.rail_y())
    QTest.mouseClick(ladder, Qt.MouseButton.RightButton, pos=place)
    assert screen.presenter.form.answers.scores["rumble"] == {}


@pytest.mark.slow
def test_that_no_difference_without_a_score_is_said_in_the_row(screen, press):
    screen.player.hear_both()
    press(Qt.Key.Key_Equal)
    assert ladders(screen)[0].sentence() == "alike: give one score"
    press(Qt.Key.Key_7, Qt.Key.Key_Return)
    assert ladders(screen)[0].sentence() == "no difference"


def shown_text(screen):
    return " ".join(w.text() for w in screen.findChildren(QLabel) if w.isVisible())


def test_that_the_sound_of_the_day_is_told_in_breaks_and_never_beside_a_pair(screen):
    screen.presenter.desk.breaks = (1,)
    screen.player.pass_time(90.0)
    screen.presenter.exposure.keep()
    assert "played" not in shown_text(screen)
    screen.player.hear_both()
    for attribute in screen.presenter.attributes:
        screen.presenter.give(attribute.key, "A", 7.0)
        screen.presenter.give(attribute.key, "B", 6.0)
    screen.presenter.go_on()
    assert "Today: 2 min played; level not known, so no dose." in shown_text(screen)
    assert "Still to come: about" in shown_text(screen)
    screen.presenter.leave()


def test_that_enter_stops_at_a_full_dose_and_going_on_takes_a_button(study, qtbot, qapp):
    desk = ListeningDesk(study, session_seats(study)[0].session_id, noon_today)
    desk.note_exposure(960.0, 100.0)

    def opened():
        screen = SessionScreen(SessionPresenter(desk, QuietPlayer()))
        qtbot.addWidget(screen)
        screen.show()
        qtbot.waitExposed(screen)
        screen.begin()
        assert "Your ears have had enough for today." in shown_text(screen)
        let_be_seen(screen)
        return screen

    screen = opened()
    with qtbot.waitSignal(screen.left):
        QTest.keyClick(screen._stop_page, Qt.Key.Key_Return)
    screen = opened()
    go_on = next(
        b for b in screen.findChildren(QAbstractButton) if b.text() == "Go on all the same"
    )
    QTest.mouseClick(go_on, Qt.MouseButton.LeftButton)
    assert screen._presenter.form.pair.position == 1
    assert "enough for today" not in shown_text(screen)


@pytest.mark.parametrize("size", [(1280, 720), (960, 540)])
def test_that_nothing_of_the_session_is_cut_and_one_area_scrolls_at_most(screen, size):
    screen.resize(*size)
    QApplication.processEvents()
    assert (screen.width(), screen.height()) == size
    screen._heading.setText("Smooth asphalt, coast-down, 80 to 40 km/h")
    cut = [
        label.text()
        for label in screen.findChildren(QLabel)
        if label.isVisible()
        and (
            label.heightForWidth(label.width()) > label.height()
            if label.wordWrap()
            else label.sizeHint().width() > label.width()
        )
    ]
    assert cut == []
    inside = screen.rect()
    for part in (*screen.findChildren(SidePanel), *screen.findChildren(QAbstractButton)):
        if part.isVisible():
            place = QRect(part.mapTo(screen, QPoint(0, 0)), part.size())
            assert inside.contains(place) or isinstance(part.parentWidget(), ScoreLadder)
    for panel in screen.findChildren(SidePanel):
        button_x = panel._note_button.x()
        assert panel.fontMetrics().horizontalAdvance(panel.heard_words()) + 140 < button_x
    scrolling = [
        area
        for area in screen.findChildren(QScrollArea)
        if area.isVisible() and area.verticalScrollBar().maximum() > 0
    ]
    assert len(scrolling) <= 1
    first = ladders(screen)[0]
    assert first.visibleRegion().boundingRect() == first.rect()


@pytest.mark.parametrize(("high", "rows"), [(720, (52, 80)), (1080, (73, 128))])
def test_that_rows_take_the_room_there_is_up_to_a_limit(screen, high, rows):
    screen.resize(high * 16 // 9, high)
    QApplication.processEvents()
    heights = {ladder.height() for ladder in ladders(screen)}
    assert rows[0] <= min(heights) <= max(heights) <= rows[1]
    room = screen._ladders.viewport().height()
    assert room - sum(ladder.height() for ladder in ladders(screen)) < 2 * len(ladders(screen))


def test_that_the_line_of_keys_breaks_between_keys_only(screen):
    screen.player.hear_both()
    line = screen._hint.text()
    assert line == key_line()
    assert all(" " not in each for each in line.split("   "))
    assert "?:\u00a0all\u00a0keys" in line


def test_that_a_side_that_rises_says_that_it_does_not_count_yet(screen):
    panel = screen._sides["A"]
    screen.player.is_rising = True
    screen.player.state_changed.emit()
    assert panel.heard_words() == "rising; counts from full level on"
    assert screen._sides["B"].heard_words().startswith("listen to B")
    screen.player.is_rising = False
    screen.player.hear("A", 0.5)
    assert panel.heard_words().startswith("listen to A")


def test_that_sound_nobody_attends_to_rests_and_says_so(screen, qtbot, press):
    attention, player = screen.presenter.attention, screen.player
    player.hear_both()
    attention._timer.setInterval(30)
    attention._timer.start()
    qtbot.waitUntil(lambda: not player.is_playing)
    assert screen._hint.text() == "Paused: no key and no movement for 2 min. P plays on."
    press(Qt.Key.Key_P)
    assert player.is_playing
    assert "Paused" not in screen._hint.text()


def test_that_every_key_and_movement_in_the_window_counts_as_attention(screen, monkeypatch):
    acts = []
    monkeypatch.setattr(screen.presenter.attention, "note_act", lambda: acts.append(1))
    window = screen.window().windowHandle()
    for act in (
        lambda: QTest.keyClick(window, Qt.Key.Key_F5),
        lambda: QTest.mouseMove(window, QPoint(300, 300)),
        lambda: QTest.mouseClick(
            window,
            Qt.MouseButton.LeftButton,
            Qt.KeyboardModifier.NoModifier,
            QPoint(640, 5),
        ),
    ):
        acts.clear()
        act()
        QApplication.processEvents()
        assert acts


def test_that_a_way_back_to_device_and_level_is_in_sight(qtbot, screen):
    with qtbot.waitSignal(screen.device_asked, timeout=1000):
        QTest.mouseClick(screen._level_button, Qt.MouseButton.LeftButton)
    assert screen._level_button.accessibleName() == "sound device and level"
