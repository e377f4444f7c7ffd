"""Number fields under the languages of a desktop, with real keys; the wheel over closed fields."""

import re
from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, QLocale, QPoint, QPointF, QRect, Qt
from PySide6.QtGui import QGuiApplication, QKeyEvent, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QLineEdit, QRadioButton, QVBoxLayout, QWidget

import app
from app.parts.fields import Choice, NumberField, WholeNumberField, all_read

APP = Path(app.__file__).parent
LANGUAGES = {
    "German": QLocale(QLocale.Language.German, QLocale.Country.Germany),
    "French": QLocale(QLocale.Language.French, QLocale.Country.France),
    "Swiss": QLocale(QLocale.Language.German, QLocale.Country.Switzerland),
    "English": QLocale(QLocale.Language.English, QLocale.Country.UnitedKingdom),
}


@pytest.fixture(params=LANGUAGES)
def language(request, qapp):
    """Each language of a desktop in turn."""
    before = QLocale()
    QLocale.setDefault(LANGUAGES[request.param])
    yield request.param
    QLocale.setDefault(before)


@pytest.fixture
def page(qtbot, light):
    """A shown page with a number in pascal, a whole one, one that may be missing, and a line."""
    shown = QWidget()
    shown.pa = NumberField("pascal", 0.0, 100_000.0, decimals=4, unit="Pa", nothing="not given")
    shown.whole = WholeNumberField("channels", 1, 32)
    shown.shift = NumberField("shift", -3600.0, 3600.0, decimals=2, unit="s")
    shown.shift.setPrefix("shifted by ")
    shown.line = QLineEdit()
    column = QVBoxLayout(shown)
    for widget in (shown.pa, shown.whole, shown.shift, shown.line):
        column.addWidget(widget)
    column.addStretch(1)
    qtbot.addWidget(shown)
    shown.resize(420, 400)
    with qtbot.waitExposed(shown):
        shown.show()
    shown.activateWindow()
    return shown


def write(field, text):
    """Type over what the field holds, as after a Tab into it."""
    field.setFocus(Qt.FocusReason.TabFocusReason)
    field.selectAll()
    for character in text:
        # QTest types Latin letters only.
        press = QKeyEvent(
            QEvent.Type.KeyPress, Qt.Key.Key_unknown, Qt.KeyboardModifier.NoModifier, character
        )
        QApplication.sendEvent(field, press)


def paste(field, text):
    QGuiApplication.clipboard().setText(text)
    field.setFocus(Qt.FocusReason.TabFocusReason)
    field.selectAll()
    QTest.keyClick(field, Qt.Key.Key_V, Qt.KeyboardModifier.ControlModifier)


def clickable(widget):
    """Give where a widget takes clicks: of a choice its mark and words."""
    is_choice = isinstance(widget, QRadioButton)
    size = widget.size().boundedTo(widget.sizeHint()) if is_choice else widget.size()
    return QRect(widget.pos(), size)


@pytest.mark.parametrize("width_px", [420, 700])
def test_that_a_refusal_covers_nothing_to_click(qtbot, light, width_px):
    page = QWidget()
    field = NumberField("pascal", 0.0, 100.0, unit="Pa")
    ways = [QRadioButton(words) for words in ("Pascal", "Tone", "Not known")]
    column = QVBoxLayout(page)
    for widget in (ways[0], field, *ways[1:], QLineEdit()):
        column.addWidget(widget)
    qtbot.addWidget(page)
    page.resize(width_px, 300)
    with qtbot.waitExposed(page):
        page.show()
    write(field, "much")
    assert not field.commit()
    note = next(label for label in page.findChildren(QLabel) if label.text() == field.refusal)
    assert page.rect().contains(note.geometry())
    for widget in (*ways, field):
        assert not note.geometry().intersects(clickable(widget)), widget
    # Where there is no such place, a click still reaches what lies below.
    assert note.testAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
    write(field, "3")
    assert not note.isVisible()


@pytest.mark.parametrize("enter", [write, paste])
@pytest.mark.parametrize(
    ("text", "value", "shown"),
    [
        ("1.25", 1.25, "1.2500 Pa"),
        ("1,25", 1.25, "1.2500 Pa"),
        ("20.5", 20.5, "20.5000 Pa"),
        ("20,5 Pa", 20.5, "20.5000 Pa"),
        ("1e-3", 0.001, "0.0010 Pa"),
        ("1,234", 1.234, "1.2340 Pa"),
        ("1\u00a0250", 1250.0, "1250.0000 Pa"),
        ("1\u2019250.5", 1250.5, "1250.5000 Pa"),
    ],
)
def test_that_both_marks_mean_the_same_in_every_language(language, page, enter, text, value, shown):
    enter(page.pa, text)
    QTest.keyClick(page.pa, Qt.Key.Key_Return)
    assert page.pa.value() == value
    assert page.pa.text() == shown
    assert not page.pa.refusal


@pytest.mark.parametrize("enter", [write, paste])
@pytest.mark.parametrize("leave", [Qt.Key.Key_Return, Qt.Key.Key_Tab, Qt.Key.Key_Up])
@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("1.234,5", '"1.234,5" can be read in more than one way'),
        ("12,345,678", '"12,345,678" can be read in more than one way'),
        ("twenty", '"twenty" is not a number'),
        ("1.25 kPa", '"1.25 kPa" is not a number'),
        ("0.12345", '"0.12345" is finer than this field. 4 decimals at most are taken.'),
        ("200000", '"200000" is out of range. 0.0001 to 100000.0000 Pa is taken here.'),
        ("-1", '"-1" is out of range'),
    ],
)
def test_that_what_cannot_be_read_stays_in_sight_and_changes_nothing(
    language, page, enter, leave, text, why
):
    page.pa.setValue(2.0)
    told = []
    page.pa.valueChanged.connect(told.append)
    enter(page.pa, text)
    QTest.keyClick(page.pa, leave)
    assert (page.pa.value(), told) == (2.0, [])
    assert text in page.pa.text()
    assert page.pa.refusal.startswith(why)
    note = next(label for label in page.findChildren(QLabel) if label.text() == page.pa.refusal)
    assert note.isVisible()
    assert page.rect().contains(note.geometry())
    assert not note.geometry().intersects(page.pa.geometry())
    assert page.pa.accessibleDescription() == page.pa.refusal
    write(page.pa, "3")
    assert not page.pa.refusal
    assert not note.isVisible()
    QTest.keyClick(page.pa, Qt.Key.Key_Return)
    assert (page.pa.value(), told) == (3.0, [3.0])


def test_that_nothing_counts_while_it_is_typed(language, page):
    told = []
    page.pa.valueChanged.connect(told.append)
    page.pa.setFocus()
    page.pa.selectAll()
    for key, so_far in zip("12,5", ("1", "12", "12,", "12,5"), strict=True):
        QTest.keyClicks(page.pa, key)
        assert page.pa.text().startswith(so_far)
        assert not told
        assert page.pa.value() == 0.0
        assert not page.pa.refusal
    page.line.setFocus()
    assert told == [12.5]


@pytest.mark.parametrize("text", ["1,250", "1.5", "2,0001"])
def test_that_a_whole_number_is_never_a_rounded_one(language, page, text):
    write(page.whole, text)
    assert not page.whole.commit()
    assert page.whole.value() == 1
    assert "Write a whole number" in page.whole.refusal


def test_that_a_word_for_nothing_is_typed_over_and_an_empty_field_means_it(language, page):
    assert page.pa.text() == "not given"
    page.pa.setFocus()
    page.pa.lineEdit().setCursorPosition(3)
    QTest.keyClicks(page.pa, "2,5")
    QTest.keyClick(page.pa, Qt.Key.Key_Return)
    assert page.pa.value() == 2.5
    page.pa.setFocus()
    page.pa.lineEdit().selectAll()
    QTest.keyClick(page.pa, Qt.Key.Key_Delete)
    page.line.setFocus()
    assert (page.pa.value(), page.pa.text()) == (0.0, "not given")


def test_that_an_emptied_field_that_needs_a_number_says_so(page):
    page.whole.setFocus()
    page.whole.lineEdit().selectAll()
    QTest.keyClick(page.whole, Qt.Key.Key_Delete)
    page.line.setFocus()
    assert page.whole.refusal.startswith("There is no number.")
    assert page.whole.value() == 1


@pytest.mark.parametrize("text", ["-0,5", "\u22120.5", "-5e-1 s"])
def test_that_a_negative_number_is_read_between_its_words(language, page, text):
    write(page.shift, text)
    QTest.keyClick(page.shift, Qt.Key.Key_Return)
    assert page.shift.value() == -0.5
    assert page.shift.text() == "shifted by -0.50 s"


def test_that_steps_go_on_from_what_is_typed(page):
    write(page.shift, "2,5")
    QTest.keyClick(page.shift, Qt.Key.Key_Up)
    assert page.shift.value() == 3.5


def test_that_a_page_is_not_taken_before_all_its_numbers_are_read(page):
    write(page.pa, "1.234,5")
    assert not all_read(page)
    assert page.focusWidget() is page.pa
    write(page.pa, "1234,5")
    # Nothing took the focus, as when a button is pressed that takes none.
    assert all_read(page)
    assert page.pa.value() == 1234.5


def test_that_the_program_replaces_what_was_typed_only_by_something_new(page):
    page.pa.setValue(2.0)
    write(page.pa, "1.234,5")
    page.line.setFocus()
    page.pa.setValue(2.0)
    assert "1.234,5" in page.pa.text()
    page.pa.setValue(4.0)
    assert (page.pa.text(), page.pa.refusal) == ("4.0000 Pa", "")
    write(page.pa, "x")
    page.line.setFocus()
    page.pa.reset()
    assert (page.pa.text(), page.pa.refusal) == ("4.0000 Pa", "")


def test_that_a_page_that_goes_leaves_no_unread_number_behind(page):
    page.pa.setValue(2.0)
    write(page.pa, "1.234,5")
    page.hide()
    assert (page.pa.text(), page.pa.value()) == ("2.0000 Pa", 2.0)


@pytest.mark.parametrize("kind", [NumberField, WholeNumberField])
def test_that_a_figure_does_not_touch_the_edge_of_its_field(qtbot, light, picture, kind):
    field = kind("repeats")
    qtbot.addWidget(field)
    field.setValue(8)
    field.resize(200, field.sizeHint().height())
    shown = picture(field)
    inside = QRect(4, 6, 6, field.height() - 12)
    assert shown.count(light.panel, inside) == inside.width() * inside.height()
    assert shown.row_contrasts(QRect(8, 8, 60, field.height() - 16))[0] >= 4.5
    assert field.accessibleName() == "repeats"
    assert field.height() >= 44


def turn_wheel(widget, notches=-1):
    """Turn the wheel over a widget, as the system does."""
    middle = QPointF(widget.rect().center())
    event = QWheelEvent(
        middle,
        QPointF(widget.mapToGlobal(middle.toPoint())),
        QPoint(),
        QPoint(0, 120 * notches),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(widget, event)
    return event.isAccepted()


@pytest.mark.parametrize("focused", [True, False])
def test_that_the_wheel_changes_no_closed_list_and_no_number(page, focused):
    choice = Choice("device", {"one": 1, "two": 2, "three": 3})
    choice.setCurrentIndex(1)
    page.layout().addWidget(choice)
    choice.show()
    for field, value in ((choice, choice.currentIndex), (page.pa, page.pa.value)):
        (field if focused else page.line).setFocus()
        before = value()
        for notches in (-1, 1, -3):
            assert not turn_wheel(field, notches)
        assert value() == before


def test_that_keys_still_change_a_closed_list(page):
    choice = Choice("device", {"one": 1, "two": 2})
    page.layout().addWidget(choice)
    choice.show()
    choice.setFocus()
    QTest.keyClick(choice, Qt.Key.Key_Down)
    assert choice.currentData() == 2


def test_that_no_page_makes_a_field_of_another_kind():
    # The wheel changes a plain one under a scrolling page, and a desktop's language its numbers.
    plain = re.compile(
        r"\b(QComboBox|QFontComboBox|QAbstractSpinBox|QSpinBox|QDoubleSpinBox|QDial|QSlider"
        r"|QTabBar|QTabWidget|QDateTimeEdit|QDateEdit|QTimeEdit|QDoubleValidator|QIntValidator"
        r"|QInputDialog)\b"
    )
    sources = [
        path for path in APP.rglob("*.py") if path.name not in ("fields.py", "style_sheet.py")
    ]
    assert len(sources) > 100
    found = [str(path) for path in sources if plain.search(path.read_text(encoding="utf-8"))]
    assert found == []
