import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetricsF, QPalette
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QLabel,
    QLineEdit,
    QListWidget,
    QPlainTextEdit,
    QPushButton,
    QRadioButton,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from app.parts.fonts import font
from app.parts.theme import (
    DARK,
    LIGHT,
    apply_theme,
    contrast_ratio,
    current_theme,
    theme_keeper,
)

WORDS = ("text", "soft_text", "side_a", "side_b_text", "attention", "done")
SURFACES = (
    "ground",
    "panel",
    "button",
    "side_a_tint",
    "side_b_tint",
    "attention_tint",
    "done_tint",
)
SHAPES = ("side_a", "side_b", "rail", "accent", "attention", "done")


# WCAG 2.2: black on white is 21 by the formula; #767676 on white is widely given as 4.54 and
# #777777 as 4.48, the two sides of the limit (from memory).
@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [("#000000", "#FFFFFF", 21.0), ("#767676", "#FFFFFF", 4.54), ("#777777", "#FFFFFF", 4.48)],
)
def test_that_contrast_is_the_published_ratio(one, other, ratio):
    assert contrast_ratio(one, other) == pytest.approx(ratio, abs=0.005)
    assert contrast_ratio(other, one) == contrast_ratio(one, other)


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("words", WORDS)
@pytest.mark.parametrize("surface", SURFACES)
def test_that_every_colour_of_words_reads_on_every_surface(theme, words, surface):
    assert contrast_ratio(getattr(theme, words), getattr(theme, surface)) >= 4.5


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("surface", ["ground", "panel"])
def test_that_every_shape_that_carries_meaning_is_seen(theme, shape, surface):
    # WCAG 2.2, 1.4.11 Non-text Contrast: 3:1.
    assert contrast_ratio(getattr(theme, shape), getattr(theme, surface)) >= 3.0


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_that_words_on_the_accent_read(theme):
    assert contrast_ratio(theme.on_accent, theme.accent) >= 4.5


def test_that_the_program_takes_the_colours_of_the_mode_asked_for(qapp):
    apply_theme(qapp, "dark")
    assert current_theme() is DARK
    assert qapp.palette().color(QPalette.ColorRole.Window).name().upper() == DARK.ground
    apply_theme(qapp, "light")
    assert current_theme() is LIGHT
    assert qapp.palette().color(QPalette.ColorRole.Window).name().upper() == LIGHT.ground


def test_that_system_mode_follows_the_system_and_tells_who_keeps_pictures(qapp, qtbot):
    apply_theme(qapp, "light")
    keeper = apply_theme(qapp, "system")
    before = current_theme().name
    other = Qt.ColorScheme.Light if before == "dark" else Qt.ColorScheme.Dark
    with qtbot.waitSignal(keeper.theme_changed) as changed:
        qapp.styleHints().colorSchemeChanged.emit(other)
    assert changed.args == [current_theme().name]
    assert current_theme().name != before


def test_that_a_chosen_mode_does_not_follow_the_system(qapp):
    apply_theme(qapp, "light")
    qapp.styleHints().colorSchemeChanged.emit(Qt.ColorScheme.Dark)
    assert current_theme() is LIGHT


def test_that_there_is_one_keeper_however_often_a_theme_is_put_on(qapp):
    first = apply_theme(qapp, "light")
    assert apply_theme(qapp, "dark") is first
    assert theme_keeper() is first


@pytest.mark.parametrize("role", ["small", "body", "name", "heading", "finding"])
def test_that_figures_have_one_width(qapp, role):
    metrics = QFontMetricsF(font(role))
    assert len({metrics.horizontalAdvance(digit) for digit in "0123456789"}) == 1


def test_that_the_contrast_measured_from_pixels_can_fail(qtbot, light, picture):
    label = QLabel("faint words")
    qtbot.addWidget(label)
    label.setStyleSheet("color: #A0A0A0; background: #FFFFFF")
    (measured,) = picture(label).row_contrasts()
    assert measured < 4.5


@pytest.mark.parametrize("is_enabled", [True, False])
@pytest.mark.parametrize(
    "kind", [QPushButton, QCheckBox, QRadioButton, QLabel], ids=lambda kind: kind.__name__
)
def test_that_words_of_ordinary_widgets_read_from_pixels(qtbot, theme, picture, kind, is_enabled):
    widget = kind("listened")
    qtbot.addWidget(widget)
    widget.setEnabled(is_enabled)
    widget.resize(widget.sizeHint())
    box = widget.rect().adjusted(34, 10, -10, -10) if kind is not QLabel else widget.rect()
    contrasts = picture(widget).row_contrasts(box)
    assert contrasts
    assert min(contrasts) >= 4.5


@pytest.mark.slow
@pytest.mark.parametrize(
    "kind",
    [
        QPushButton,
        QCheckBox,
        QRadioButton,
        QLineEdit,
        QPlainTextEdit,
        QComboBox,
        QSpinBox,
        QListWidget,
    ],
    ids=lambda kind: kind.__name__,
)
def test_that_the_focus_is_seen_on_ordinary_widgets(qtbot, theme, picture, kind):
    window = QWidget()
    qtbot.addWidget(window)
    column = QVBoxLayout(window)
    widget, elsewhere = kind(), QPushButton("elsewhere")
    column.addWidget(widget)
    column.addWidget(elsewhere)
    with qtbot.waitExposed(window):
        window.show()
    window.activateWindow()
    elsewhere.setFocus()
    without = picture(widget)
    widget.setFocus()
    qtbot.waitUntil(widget.hasFocus)
    ring = {theme.text, theme.accent}
    gained = {colour: picture(widget).count(colour) - without.count(colour) for colour in ring}
    assert max(gained.values()) >= 40
