"""Every page of the window: fields, the wheel, touch targets, words that are cut, what scrolls."""

import pytest
from lead_recordings import study_with_runs
from pages import OpenedWindow
from PySide6.QtCore import QLocale, QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractScrollArea,
    QAbstractSlider,
    QAbstractSpinBox,
    QApplication,
    QCheckBox,
    QComboBox,
    QLabel,
    QLineEdit,
    QPushButton,
    QRadioButton,
    QScrollBar,
    QTabBar,
    QWidget,
)
from studies import write_noise

from app.lead import room
from app.parts.fields import Choice, NumberField
from app.parts.icons import TOUCH_PX
from app.parts.theme import apply_theme

#: A desktop whose decimal mark is the other's mark between thousands, and the other way round.
LANGUAGES = {
    "German": QLocale(QLocale.Language.German, QLocale.Country.Germany),
    "English": QLocale(QLocale.Language.English, QLocale.Country.UnitedStates),
}


@pytest.fixture
def open_window(qtbot, qapp, tmp_path, monkeypatch):
    """Open the window on a study with measured runs; and give recordings for a new one."""
    monkeypatch.setattr(room, "studies_folder", lambda: tmp_path / "studies")
    apply_theme(qapp, "light")
    study = study_with_runs(tmp_path / "s", is_measured=True)
    study.close()
    recordings = [
        write_noise(tmp_path / f"{name}_coarse_80.wav", seed)
        for seed, name in enumerate(("maple", "birch"))
    ]

    def open_():
        return OpenedWindow(study.folder.path, qtbot, tmp_path / "s.ini"), recordings

    return open_


def in_sight(window, kind):
    return [each for each in window.findChildren(kind) if each.isVisible()]


def turn_wheel(widget):
    middle = QPointF(widget.rect().center())
    event = QWheelEvent(
        middle,
        QPointF(widget.mapToGlobal(middle.toPoint())),
        *(QPoint(), QPoint(0, -120)),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        *(Qt.ScrollPhase.NoScrollPhase, False),
    )
    QApplication.sendEvent(widget, event)


def type_in(field, text):
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, text)
    return field.commit()


def misread(field):
    """Say what a number field makes of what is typed into it; empty when all is well."""
    before, wrong = field.value(), []
    if type_in(field, "1.234,5") or field.value() != before:
        wrong.append("takes 1.234,5")
    field.reset()
    step = 10.0 ** -field.decimals()
    wanted = round(min(max(field.minimum() + 2 * step, 12.0 + step), field.maximum()), 6)
    for mark in ".,":
        text = f"{wanted:.{field.decimals()}f}".replace(".", mark)
        if not type_in(field, text) or field.value() != wanted:
            wrong.append(f"reads {text} as {field.value()}: {field.refusal}")
        field.setValue(before)
    too_fine = f"1,{'0' * field.decimals()}5"
    if type_in(field, too_fine):
        wrong.append(f"takes {too_fine} as {field.value()}")
    field.reset()
    field.setValue(before)
    return [f"{field.accessibleName()} {each}" for each in wrong]


@pytest.mark.slow
@pytest.mark.parametrize("language", LANGUAGES)
def test_that_every_number_is_read_with_both_marks_and_no_wheel_changes_a_field(
    open_window, language
):
    before = QLocale()
    QLocale.setDefault(LANGUAGES[language])
    try:
        window, recordings = open_window()
        wrong, read, chosen = [], set(), set()
        for page in window.pages(recordings):
            for kind in (QComboBox, QAbstractSpinBox, QAbstractSlider, QTabBar):
                ours = (Choice, NumberField, QScrollBar)
                wrong += [
                    f"{page}: a {type(each).__name__} of Qt's"
                    for each in in_sight(window, kind)
                    if not isinstance(each, ours)
                ]
            for choice in in_sight(window, Choice):
                chosen.add(choice.accessibleName())
                place = choice.currentIndex()
                turn_wheel(choice)
                if choice.currentIndex() != place:
                    wrong.append(f"{page}: the wheel changes {choice.accessibleName()}")
            for field in in_sight(window, NumberField):
                value = field.value()
                turn_wheel(field)
                if field.value() != value:
                    wrong.append(f"{page}: the wheel changes {field.accessibleName()}")
                if field.isEnabled() and field.accessibleName() not in read:
                    read.add(field.accessibleName())
                    wrong += [f"{page}: {each}" for each in misread(field)]
        assert wrong == [], "\n".join(wrong)
        assert len(read) >= 25
        assert {"sound device", "colours", "what channel 1 is", "Left ear", "run"} <= chosen
    finally:
        QLocale.setDefault(before)


def low_targets(window):
    """Widgets to press or type into that are lower than a touch target."""
    kinds = (QAbstractButton, QLineEdit, QComboBox, QAbstractSpinBox)
    inside = (QAbstractSpinBox, QComboBox)
    return [
        f"{each.height()} px: {each.accessibleName() or each.property('text')}"
        for each in in_sight(window, QWidget)
        if isinstance(each, kinds)
        and each.isEnabled()
        and not isinstance(each.parentWidget(), inside)
        and each.height() < TOUCH_PX
    ]


def cut_words(window):
    """Labels and buttons with less room than their words need; elided ones say it by a tip."""
    found = []
    for label in filter(QLabel.text, in_sight(window, QLabel)):
        hint = label.sizeHint()
        if label.wordWrap():
            is_cut = label.heightForWidth(label.width()) > label.height() + 1
        else:
            is_cut = hint.width() > label.width() + 1 or hint.height() > label.height() + 1
        if is_cut:
            found.append(f"{label.text()[:60]}: {label.size().toTuple()} of {hint.toTuple()}")
    for kind in (QPushButton, QCheckBox, QRadioButton):
        found += [
            f"{button.text()}: {button.width()} of {button.sizeHint().width()}"
            for button in in_sight(window, kind)
            if button.sizeHint().width() > button.width() + 1
        ]
    return found


def cut_at_the_side(window):
    """Fields that reach beyond the area that they scroll in, where it does not scroll sideways."""
    found = []
    for area in in_sight(window, QAbstractScrollArea):
        inside = area.widget() if hasattr(area, "widget") else None
        scrolls = area.horizontalScrollBarPolicy() != Qt.ScrollBarPolicy.ScrollBarAlwaysOff
        if inside is not None and not scrolls and inside.width() > area.viewport().width():
            found.append(f"{inside.width()} in {area.viewport().width()}: {type(inside).__name__}")
    return found


def nested_scrolling(window):
    """Areas that scroll up and down inside others that do too."""
    found = []
    for area in in_sight(window, QAbstractScrollArea):
        outer = area.parentWidget()
        while outer is not None:
            if (
                isinstance(outer, QAbstractScrollArea)
                and area.verticalScrollBar().maximum() > 0
                and outer.verticalScrollBar().maximum() > 0
            ):
                found.append(f"{type(area).__name__} in {type(outer).__name__}")
            outer = outer.parentWidget()
    return found


@pytest.mark.slow
@pytest.mark.parametrize("theme", ["light"])
def test_that_at_960_by_540_everything_is_a_target_and_nothing_is_cut(qapp, open_window, theme):
    apply_theme(qapp, theme)
    window, recordings = open_window()
    window.resize(960, 540)
    wrong = []
    for page in window.pages(recordings):
        assert (window.width(), window.height()) == (960, 540)
        for look in (low_targets, cut_words, cut_at_the_side, nested_scrolling):
            wrong += [f"{page}, {look.__name__}: {each}" for each in look(window)]
    assert wrong == [], "\n".join(wrong)
