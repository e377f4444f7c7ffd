"""What takes the keys, what is told and where it stands, at the session's screen."""

import sqlite3
from datetime import timedelta

import pytest
from PySide6.QtCore import QEvent, QPoint, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel
from studies import small_study

from app.evaluator.session_presenter import SessionPresenter
from app.parts.keys_card import KeysCard
from app.parts.ladder import ScoreLadder
from app.parts.message_bar import MessageBar
from app.parts.note_box import NoteBox
from app.parts.position_bar import PositionBar
from app.parts.road import Road
from app.parts.sides import SidePanel
from ratings.errors import PlaybackError, StudyError
from ratings.storage.blind_study import utc_now
from ratings.storage.listening_desk import ListeningDesk
from ratings.study.attributes import DEFAULT_ATTRIBUTES

K = Qt.Key
LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def study(tmp_path):
    study = small_study(tmp_path, conditions=2, attributes=DEFAULT_ATTRIBUTES)
    yield study
    study.close()


def send(screen, key, text="", *, held=False):
    """Send a key as the window system does: to the window, wherever the keys go in it."""
    event = QKeyEvent(QEvent.Type.KeyPress, key, Qt.KeyboardModifier.NoModifier, text, held)
    QApplication.sendEvent(QApplication.focusWidget() or screen, event)


def rate_all(screen):
    screen.player.hear_both()
    for attribute in screen.presenter.attributes:
        screen.presenter.give(attribute.key, "A", 7.0)
        screen.presenter.give(attribute.key, "B", 6.0)


def lose_sounds(study):
    for sound in (*study.folder.clips.iterdir(), *study.folder.recordings.iterdir()):
        sound.unlink()


def words(screen):
    return [label.text() for label in screen.findChildren(QLabel) if label.isVisible()]


def test_that_the_keys_card_takes_every_key_and_esc_closes_it_only(screen, press, qtbot):
    screen.player.hear_both()
    press(K.Key_Question)
    card = screen.findChild(KeysCard)
    qtbot.waitUntil(card.hasFocus)
    with qtbot.assertNotEmitted(screen.left):
        for key in (K.Key_Tab, K.Key_7, K.Key_Space, K.Key_Return, K.Key_Down, K.Key_N):
            send(screen, key)
        assert card.isVisible()
        send(screen, K.Key_Escape)
    assert card.isHidden()
    assert screen.presenter.form.answers.scores == {}
    assert screen.presenter.form.active == 0
    assert screen.presenter.entry.typed is None
    assert screen.player.side == "A"
    assert screen.focusWidget() in screen.findChildren(ScoreLadder)


def test_that_the_note_box_keeps_the_keys_when_tab_is_pressed_and_a_side_is_heard(
    screen, press, qtbot
):
    press(K.Key_N)
    box = screen.findChild(NoteBox)
    for _ in range(3):
        send(screen, K.Key_Tab)
        assert box.isAncestorOf(screen.focusWidget())
    # What is heard meanwhile opens the ladders behind; the keys stay with the note.
    screen.player.hear_both()
    QTest.qWait(0)
    assert box.isAncestorOf(screen.focusWidget())
    send(screen, K.Key_7)
    assert screen.presenter.entry.typed is None


def test_that_a_note_is_on_the_disk_at_a_pause_in_typing_in_one_row(study, screen, press, qtbot):
    press(K.Key_N)
    box = screen.findChild(NoteBox)
    box._pause.setInterval(1)
    QTest.keyClicks(screen.focusWidget(), "howls above 60")
    query = "SELECT side, text FROM note"
    database = sqlite3.connect(study.folder.database)
    qtbot.waitUntil(lambda: len(database.execute(query).fetchall()) > 0)
    assert box.isVisible()
    assert database.execute(query).fetchall() == [("A", "howls above 60")]


def test_that_a_note_is_kept_before_long_typing_ends(study, screen, press, qtbot):
    press(K.Key_N)
    box = screen.findChild(NoteBox)
    box._latest.setInterval(1)
    QTest.keyClicks(screen.focusWidget(), "h")
    qtbot.waitUntil(lambda: screen.presenter.note("A") == "h")


def test_that_a_note_the_disk_refuses_stays_open(screen, press, monkeypatch):
    press(K.Key_N)
    QTest.keyClicks(screen.focusWidget(), "howls")

    def refuse(*_):
        raise StudyError("The note was not saved.", "Try again.")

    monkeypatch.setattr(screen.presenter.desk, "record_note", refuse)
    send(screen, K.Key_Escape)
    assert screen.findChild(NoteBox).isVisible()
    assert "The note was not saved." in words(screen)
    monkeypatch.undo()
    send(screen, K.Key_Escape)
    assert screen.findChild(NoteBox).isHidden()
    assert screen.presenter.note("A") == "howls"


def test_that_a_silent_pair_is_set_aside_and_taken_up_again_with_keys(study, screen, press):
    presenter = screen.presenter
    rate_all(screen)
    sounds = {path: path.read_bytes() for path in study.folder.clips.iterdir()}
    lose_sounds(study)
    press(K.Key_Return)
    assert presenter.is_silent
    assert "This pair has no sound. S sets it aside" in screen._hint.text()
    assert screen.findChildren(ScoreLadder)[0].sentence() == "no sound to play"
    press(K.Key_S)
    assert presenter.form.pair.position == 3
    road = screen.findChild(Road)
    assert road.pair_words() == f"pair 3 of {presenter.pair_count}, 1 set aside"
    for path, content in sounds.items():
        path.write_bytes(content)
    press(K.Key_R)
    assert presenter.form.pair.position == 2
    assert not presenter.is_silent
    assert road.pair_words() == f"pair 2 of {presenter.pair_count}"


def test_that_pairs_set_aside_can_be_tried_again_at_the_end(study, screen, press):
    presenter = screen.presenter
    rate_all(screen)
    lose_sounds(study)
    press(K.Key_Return)
    while presenter.form is not None:
        press(K.Key_S)
    count = presenter.pair_count
    assert f"1 of {count} pairs are rated, {count - 1} set aside." in words(screen)
    press(K.Key_R)
    assert presenter.form.pair.position == 2
    assert screen.findChild(MessageBar).isVisible()


def test_that_a_pair_with_sound_is_not_set_aside_by_a_stray_key(screen, press):
    press(K.Key_S)
    assert screen.presenter.form.pair.position == 1
    assert screen.presenter.aside_count == 0


def test_that_a_device_is_chosen_with_a_key(screen, press, qtbot):
    screen.player.trouble_raised.emit(PlaybackError("The sound device is gone.", "Plug it in."))
    with qtbot.waitSignal(screen.device_asked):
        press(K.Key_D)


def test_that_esc_closes_a_message_before_it_leaves(screen, press, qtbot):
    screen.player.trouble_raised.emit(PlaybackError("The sound device is gone.", "Plug it in."))
    with qtbot.assertNotEmitted(screen.left):
        press(K.Key_Escape)
    assert screen.findChild(MessageBar).isHidden()
    with qtbot.waitSignal(screen.left):
        press(K.Key_Escape)


@pytest.mark.parametrize("size", [(1280, 720), (960, 540)])
def test_that_a_message_moves_and_covers_nothing_that_is_clicked(screen, size, qtbot):
    screen.resize(*size)
    QApplication.processEvents()
    targets = [*screen.findChildren(SidePanel), *screen.findChildren(ScoreLadder)]
    targets += [screen.findChild(PositionBar), screen._next_button]
    places = [target.mapTo(screen, QPoint(0, 0)) for target in targets]
    screen.player.trouble_raised.emit(
        PlaybackError("The sound device is gone: nothing can be heard.", "Plug it in again.")
    )
    QApplication.processEvents()
    bar = screen.findChild(MessageBar)
    assert bar.isVisible()
    assert [target.mapTo(screen, QPoint(0, 0)) for target in targets] == places
    assert bar.geometry().bottom() <= min(place.y() for place in places) + 2
    assert all(
        label.height() >= label.heightForWidth(label.width())
        for label in bar.findChildren(QLabel)
        if label.isVisible()
    )


def test_that_a_refusal_goes_when_its_cause_does(screen, press):
    press(K.Key_7)
    assert screen._hint.property("look") == "attention"
    screen.player.hear("A", 1.0)
    assert screen._hint.property("look") == "attention"
    screen.player.hear_both()
    assert screen._hint.property("look") == "soft"
    assert "Listen" not in screen._hint.text()


def test_that_one_rule_says_how_much_longer_to_listen(screen, press):
    panels = {panel.accessibleName()[-1]: panel for panel in screen.findChildren(SidePanel)}
    assert panels["B"].heard_words() == "listen to B for 3 s"
    screen.player.hear("A", 2.5)
    screen.player.hear("B", 0.7)
    assert panels["A"].heard_words() == "heard once"
    assert panels["B"].heard_words() == "listen to B 2 s longer"
    assert screen.findChildren(ScoreLadder)[0].sentence() == "listen to B 2 s longer"
    assert screen._hint.text().startswith("Listen to B 2 s longer, then score.")
    press(K.Key_7)
    assert screen._hint.text().startswith("Listen to B 2 s longer, then score.")
    assert "not heard of B: 1-2 s" in screen.findChild(PositionBar).accessibleDescription()
    screen.player.hear("B", 2.4)
    assert panels["B"].heard_words() == "heard 2 s of 2 s"
    assert "not heard" not in screen.findChild(PositionBar).accessibleDescription()


@pytest.mark.parametrize("way", ["key", "click"])
def test_that_space_and_a_click_on_a_side_play_from_here_when_paused(screen, press, way):
    press(K.Key_P)
    assert not screen.player.is_playing
    if way == "key":
        press(K.Key_Space)
    else:
        panel = next(x for x in screen.findChildren(SidePanel) if x.accessibleName()[-1] == "B")
        QTest.mouseClick(panel, LEFT)
    assert screen.player.side == "B"
    assert screen.player.is_playing


def test_that_a_click_on_the_paused_side_itself_plays_it(screen, press):
    press(K.Key_P)
    panel = next(x for x in screen.findChildren(SidePanel) if x.accessibleName()[-1] == "A")
    QTest.mouseClick(panel, LEFT)
    assert screen.player.side == "A"
    assert screen.player.is_playing


def test_that_a_second_enter_does_not_skip_the_break_unseen(screen, press):
    screen.presenter.desk.breaks = (1,)
    rate_all(screen)
    press(K.Key_Return, K.Key_Return, K.Key_Return)
    assert screen.presenter.is_resting
    assert not [text for text in words(screen) if "Enter" in text]
    screen._rest_page._seen.setInterval(0)
    screen._rest_page._seen.start()
    QTest.qWait(1)
    assert "Enter goes on listening. Esc leaves for now." in words(screen)
    press(K.Key_Return)
    assert screen.presenter.form.pair.position == 2


@pytest.mark.parametrize(("after_s", "rests_again"), [(20.0, True), (6 * 60.0, False)])
def test_that_who_leaves_in_a_break_has_rested_only_after_its_time(
    study, screen, press, qtbot, after_s, rests_again
):
    screen.presenter.desk.breaks = (1,)
    rate_all(screen)
    press(K.Key_Return)
    with qtbot.waitSignal(screen.left):
        press(K.Key_Escape)
    screen.put_away()
    later = utc_now() + timedelta(seconds=after_s)
    desk = ListeningDesk(study, screen.presenter.desk.session_id, lambda: later)
    desk.breaks = (1,)
    again = SessionPresenter(desk, screen.player)
    again.begin()
    assert again.is_resting is rests_again


def test_that_a_held_enter_locks_no_second_pair(screen, press):
    rate_all(screen)
    press(K.Key_Return)
    rate_all(screen)
    for _ in range(5):
        send(screen, K.Key_Return, held=True)
    assert screen.presenter.locked_count == 1
    assert screen.presenter.form.pair.position == 2


def test_that_a_held_enter_that_is_not_marked_as_repeated_locks_no_second_pair(screen):
    # As Xvfb sends them: release and press at one instant, neither marked.
    presenter = screen.presenter
    rate_all(screen)
    for at_ms in (1000, 1500, 1540, 1580):
        for kind in (QEvent.Type.KeyRelease, QEvent.Type.KeyPress):
            event = QKeyEvent(kind, K.Key_Return, Qt.KeyboardModifier.NoModifier)
            event.setTimestamp(at_ms)
            if at_ms > 1000 or kind == QEvent.Type.KeyPress:
                QApplication.sendEvent(screen.focusWidget(), event)
        rate_all(screen)
    assert presenter.locked_count == 1
    again = QKeyEvent(QEvent.Type.KeyPress, K.Key_Return, Qt.KeyboardModifier.NoModifier)
    again.setTimestamp(1900)
    QApplication.sendEvent(screen.focusWidget(), again)
    assert presenter.locked_count == 2


def test_that_an_attribute_of_ones_own_stands_before_overall(study, screen):
    with study.writing() as connection:
        connection.exec_driver_sql(
            "INSERT INTO attribute (attribute_id, key, name, definition, position) "
            "VALUES (99, 'squeal', 'Squeal', 'high tone', 99)"
        )
    from ratings.storage.study_folder import open_study

    again = open_study(study.folder.path)
    assert [attribute.key for attribute in again.attributes][-2:] == ["squeal", "overall"]
    again.close()
