import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QPlainTextEdit, QWidget

from app.parts.icons import IconButton
from app.parts.note_box import NoteBox


@pytest.fixture
def box(qtbot, light):
    page = QWidget()
    qtbot.addWidget(page)
    box = NoteBox(page)
    with qtbot.waitExposed(page):
        page.show()
    page.activateWindow()
    box.note_written.connect(lambda _side, _text: box.take_answer(True))
    box.write("B", "tone near 200 Hz")
    # The page must outlive the test: its wrapper would take the box with it.
    box.page = page
    return box


@pytest.fixture
def editor(qtbot, box):
    editor = box.findChild(QPlainTextEdit)
    qtbot.waitUntil(editor.hasFocus)
    return editor


def test_that_what_was_typed_is_kept_on_esc(qtbot, box, editor):
    qtbot.keyClicks(editor, ", comes and goes")
    with qtbot.waitSignal(box.closed), qtbot.waitSignal(box.note_written) as written:
        qtbot.keyClick(editor, Qt.Key.Key_Escape)
    assert written.args == ["B", "tone near 200 Hz, comes and goes"]
    assert box.isHidden()


def test_that_a_note_may_have_lines_and_control_enter_closes(qtbot, box, editor):
    qtbot.keyClick(editor, Qt.Key.Key_Return)
    qtbot.keyClicks(editor, "after the joint")
    with qtbot.waitSignal(box.note_written) as written:
        qtbot.keyClick(editor, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert written.args == ["B", "tone near 200 Hz\nafter the joint"]


def test_that_the_close_button_keeps_the_note_too(qtbot, box, editor):
    qtbot.keyClicks(editor, " again")
    with qtbot.waitSignal(box.note_written):
        qtbot.mouseClick(box.findChild(IconButton), Qt.MouseButton.LeftButton)


def test_that_an_unchanged_note_is_not_written_again(qtbot, box, editor):
    with qtbot.assertNotEmitted(box.note_written), qtbot.waitSignal(box.closed):
        qtbot.keyClick(editor, Qt.Key.Key_Escape)


def test_that_a_short_pause_keeps_what_was_typed(qtbot, box, editor):
    assert box._pause.interval() <= 300
    with qtbot.waitSignal(box.note_written) as written:
        qtbot.keyClicks(editor, " here")
    assert written.args == ["B", "tone near 200 Hz here"]
    assert box.isVisible()


def test_that_opening_the_other_side_keeps_what_was_typed_on_this_one(qtbot, box, editor):
    qtbot.keyClicks(editor, " here")
    with qtbot.waitSignal(box.note_written) as written:
        box.write("A", "")
    assert written.args == ["B", "tone near 200 Hz here"]
    assert editor.toPlainText() == ""
    assert editor.accessibleName() == "Note on side A"
