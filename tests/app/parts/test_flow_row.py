import gc

from PySide6.QtWidgets import QLabel, QPushButton, QStackedWidget, QVBoxLayout, QWidget
from shiboken6 import delete

from app.parts.flow_row import FlowRow


def open_row(qtbot, count=4):
    buttons = [QPushButton(f"button {number}") for number in range(count)]
    row = FlowRow(*buttons)
    page = QWidget()
    column = QVBoxLayout(page)
    column.addWidget(row)
    below = QLabel("below")
    column.addWidget(below, 1)
    qtbot.addWidget(page)
    page.resize(900, 300)
    with qtbot.waitExposed(page):
        page.show()
    return page, row, buttons, below


def tops(buttons):
    return [button.y() for button in buttons]


def test_that_what_has_no_room_goes_into_the_next_line_and_pushes_what_is_below(qtbot, light):
    page, row, buttons, below = open_row(qtbot)
    assert len(set(tops(buttons))) == 1
    assert [b.x() for b in buttons] == sorted({b.x() for b in buttons})
    before = below.geometry().top()
    page.resize(row.minimumSizeHint().width() * 2 + 60, 300)
    qtbot.waitUntil(lambda: len(set(tops(buttons))) > 1)
    qtbot.waitUntil(lambda: below.geometry().top() > before)
    assert row.height() >= max(b.geometry().bottom() for b in buttons)
    assert all(b.geometry().right() < row.width() for b in buttons)


def test_that_a_hidden_widget_takes_no_room_until_it_is_shown(qtbot, light):
    _page, _row, buttons, _below = open_row(qtbot)
    place = buttons[1].x()
    buttons[0].hide()
    qtbot.waitUntil(lambda: buttons[1].x() == 0)
    buttons[0].show()
    qtbot.waitUntil(lambda: buttons[1].x() == place)


def test_that_a_longer_word_moves_the_next_widget(qtbot, light):
    _page, _row, buttons, _below = open_row(qtbot)
    place = buttons[1].x()
    buttons[0].setText("a button with many more words on it")
    qtbot.waitUntil(lambda: buttons[1].x() > place)


def test_that_a_widget_added_later_is_seen_unless_it_was_hidden(qtbot, light):
    _page, row, _buttons, _below = open_row(qtbot)
    seen, hidden = QPushButton("seen"), QPushButton("hidden")
    hidden.hide()
    row.add(seen)
    row.add(hidden)
    qtbot.waitUntil(lambda: seen.x() > 0)
    assert seen.isVisible()
    assert not hidden.isVisible()


def test_that_a_widget_that_was_deleted_leaves_the_row_standing(qtbot, light):
    _page, row, buttons, _below = open_row(qtbot)
    delete(buttons[2])
    gc.collect()
    assert row.heightForWidth(900) == row.heightForWidth(900)
    qtbot.waitUntil(lambda: buttons[3].x() < 900)


def test_that_what_was_shown_while_the_row_was_out_of_sight_has_its_place(qtbot, qapp, light):
    page, row, buttons, _below = open_row(qtbot)
    buttons[1].hide()
    qtbot.waitUntil(lambda: buttons[2].x() < 2 * (buttons[0].width() + 20))
    views = QStackedWidget()
    views.addWidget(page)
    views.addWidget(QWidget())
    qtbot.addWidget(views)
    views.resize(page.size())
    views.show()
    qtbot.waitExposed(views)
    qapp.processEvents()
    views.setCurrentIndex(1)
    buttons[1].show()
    views.setCurrentIndex(0)
    assert row.isVisible()
    qtbot.waitUntil(lambda: [b.x() for b in buttons] == sorted({b.x() for b in buttons}))
