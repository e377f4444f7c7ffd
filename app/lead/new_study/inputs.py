"""The fields of the page for a new study, all of one height and each with a spoken name."""

from PySide6.QtWidgets import QComboBox, QDoubleSpinBox, QLineEdit

from app.parts.icons import TOUCH_PX

_INDENT_PX = 10
_LEAST_WIDTH_PX = 96

#: Height of the contents that gives a touch target, whatever the frame around them adds; the
#: program's style sheet would overrule a height set in any other way.
_LINE_SHEET = f"min-height: {TOUCH_PX - 18}px; max-height: {TOUCH_PX - 18}px;"
_BOX_SHEET = "%s {{ min-height: {0}px; max-height: {0}px; }}".format(TOUCH_PX - 16)


def text_field(name: str, example: str = "") -> QLineEdit:
    """Make a line for words, with an example as long as it is empty."""
    field = QLineEdit()
    field.setAccessibleName(name)
    field.setPlaceholderText(example)
    field.setStyleSheet(_LINE_SHEET)
    return field


def number_field(
    name: str, highest: float, unit: str = "", nothing: str = "", decimals: int = 0
) -> QDoubleSpinBox:
    """Make a field for a number from 0 up; 0 reads as `nothing` where that is given."""
    field = QDoubleSpinBox()
    field.setRange(0.0, highest)
    field.setDecimals(decimals)
    field.setSuffix(f" {unit}" if unit else "")
    field.setSpecialValueText(nothing)
    field.setAccessibleName(name)
    field.setStyleSheet(_BOX_SHEET % "QDoubleSpinBox")
    field.setMinimumWidth(_LEAST_WIDTH_PX)
    field.lineEdit().setTextMargins(_INDENT_PX, 0, 0, 0)
    return field


def choice_field(name: str, choices: dict[str, str | None]) -> QComboBox:
    """Make a list of words to choose from, each with what it stands for."""
    field = QComboBox()
    field.setAccessibleName(name)
    field.setStyleSheet(_BOX_SHEET % "QComboBox")
    for words, meaning in choices.items():
        field.addItem(words, meaning)
    return field
