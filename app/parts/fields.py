"""The fields of every page: words, numbers, choices. No wheel changes any of them."""

from collections.abc import Callable, Mapping, Sequence

from PySide6.QtCore import QLocale, QPoint, QRect, QSize, Qt
from PySide6.QtGui import QFocusEvent, QHideEvent, QKeyEvent, QKeySequence, QValidator, QWheelEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QCheckBox,
    QComboBox,
    QDoubleSpinBox,
    QLabel,
    QLineEdit,
    QRadioButton,
    QScrollArea,
    QWidget,
)

from app.parts.fonts import font
from ratings.errors import NumberError
from ratings.study.written_numbers import read_number

# The style sheet's padding does not reach the left of a number field.
_AIR_PX = 10
_GAP_PX = 4
_LEAST_NOTE_PX, _MOST_NOTE_PX = 220, 380


def text_field(name: str, example: str = "") -> QLineEdit:
    """Make a line for words, with an example as long as it is empty."""
    field = QLineEdit()
    field.setAccessibleName(name)
    field.setPlaceholderText(example)
    return field


class Choice(QComboBox):
    """A list of which one is chosen; it changes by a choice in the opened list, or by keys."""

    def __init__(
        self, spoken_name: str, choices: Mapping[str, object] | None = None, least_letters: int = 0
    ) -> None:
        super().__init__()
        self.setAccessibleName(spoken_name)
        for words, meaning in (choices or {}).items():
            self.addItem(words, meaning)
        if least_letters:
            self.setMinimumContentsLength(least_letters)
            self.setSizeAdjustPolicy(
                QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
            )

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel to the page; over the opened list it does not come here."""
        event.ignore()


class NumberField(QDoubleSpinBox):
    """A field for a number, read by `ratings.study.written_numbers`, shown with a decimal point.

    What is typed or pasted counts when the field is left or Enter is pressed, whole or not at
    all. What cannot be read stays as it was typed, with a sentence below that says why, and the
    value stays what it was.

    Parameters
    ----------
    lowest, highest, decimals
        What is taken; a number outside, or with more decimals, is refused, never cut or rounded.
    unit
        Stands behind the number, and may be typed.
    nothing
        How the lowest value reads where it stands for no number; an empty field then means it.
    """

    def __init__(
        self,
        spoken_name: str,
        lowest: float = 0.0,
        highest: float = 99.0,
        *,
        decimals: int = 0,
        unit: str = "",
        nothing: str = "",
    ) -> None:
        super().__init__()
        self._note: QLabel | None = None
        self.setAccessibleName(spoken_name)
        self.setDecimals(decimals)
        self.setRange(lowest, highest)
        self.setSuffix(f" {unit}" if unit else "")
        self.setSpecialValueText(nothing)
        self.setLocale(QLocale.c())
        self.setKeyboardTracking(False)
        self.setCorrectionMode(QDoubleSpinBox.CorrectionMode.CorrectToPreviousValue)
        self.lineEdit().setTextMargins(_AIR_PX, 0, 0, 0)
        self.lineEdit().textEdited.connect(self._forget)

    @property
    def refusal(self) -> str:
        """Why the field cannot be read, as told below it; empty when nothing is told."""
        return "" if self._note is None else self._note.text()

    def commit(self) -> bool:
        """Take what is typed; tell, and return False, when it cannot be read."""
        try:
            self._read(self.lineEdit().text())
        except NumberError as problem:
            self._tell(f"{problem.what_happened} {problem.what_to_do}")
            return False
        self._forget()
        self.interpretText()
        return True

    def setValue(self, value: float) -> None:
        """Show a number; what is being typed is left alone when it changes nothing."""
        if value != self.value() or not self.lineEdit().isModified():
            self._forget()
            super().setValue(value)
            self.lineEdit().setModified(False)

    def reset(self) -> None:
        """Show the value again, whatever was typed."""
        self._forget()
        self.lineEdit().setText(self._shown_value())

    def validate(self, text: str, place: int) -> tuple[QValidator.State, str, int]:
        """Let every key through: a character that is dropped would change the number."""
        try:
            self._read(text)
        except NumberError:
            return QValidator.State.Intermediate, text, place
        return QValidator.State.Acceptable, text, place

    def fixup(self, text: str) -> str:
        """Mend nothing: Qt would take out what it holds for marks between thousands."""
        return text

    def valueFromText(self, text: str) -> float:
        """Read the number in the field."""
        return self._read(text)

    def textFromValue(self, value: float) -> str:
        """Write a number as everywhere in the program, whatever the desktop's language."""
        return f"{value:.{self.decimals()}f}"

    def stepBy(self, steps: int) -> None:
        """Step from what is typed, once it can be read."""
        if self.commit():
            super().stepBy(steps)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Type over the word for nothing; keep Enter here while the field cannot be read."""
        writes = event.text().isprintable() and bool(event.text())
        if (writes or event.matches(QKeySequence.StandardKey.Paste)) and self._says_nothing():
            self.lineEdit().selectAll()
        is_enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        # Esc too: a page that is left by it asks about what is written.
        ends = is_enter or event.key() == Qt.Key.Key_Escape
        if ends and not self.commit() and is_enter:
            event.accept()
        else:
            super().keyPressEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Take what is typed; what cannot be read stays in sight."""
        if self.commit():
            super().focusOutEvent(event)
        else:
            self.lineEdit().event(event)
            QWidget.focusOutEvent(self, event)

    def hideEvent(self, event: QHideEvent) -> None:
        """Leave nothing behind that is not the value."""
        if not self.commit():
            self.reset()
        super().hideEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel to the page: a number must never change by scrolling."""
        event.ignore()

    def _says_nothing(self) -> bool:
        return bool(self.specialValueText()) and self.text() == self.specialValueText()

    def _shown_value(self) -> str:
        if self.specialValueText() and self.value() == self.minimum():
            return self.specialValueText()
        return f"{self.prefix()}{self.textFromValue(self.value())}{self.suffix()}"

    def _read(self, text: str) -> float:
        """Read the field's text, with or without what stands before and behind the number."""
        nothing = self.specialValueText()
        bare = text.removeprefix(self.prefix()).removesuffix(self.suffix()).strip()
        if nothing and (not bare or text.strip() == nothing):
            return self.minimum()
        unit = self.suffix().strip()
        value = read_number(bare, units=(unit, *unit.split()[:1]))
        self._refuse_decimals(bare, value)
        self._refuse_out_of_range(bare, value)
        return value

    def _refuse_decimals(self, bare: str, value: float) -> None:
        # 1,250 in a field for whole hertz is a thousand and more to some: it is not rounded.
        if round(value, self.decimals()) == value:
            return
        if self.decimals() == 0:
            what_to_do = "Write a whole number, without a mark."
        else:
            what_to_do = f"{self.decimals()} decimals at most are taken."
        raise NumberError(f'"{bare}" is finer than this field.', what_to_do)

    def _refuse_out_of_range(self, bare: str, value: float) -> None:
        if self.minimum() <= value <= self.maximum():
            return
        # The lowest value stands for nothing where that has a word.
        lowest = self.minimum() + (10.0 ** -self.decimals() if self.specialValueText() else 0.0)
        raise NumberError(
            f'"{bare}" is out of range.',
            (
                f"{self.textFromValue(lowest)} to "
                f"{self.textFromValue(self.maximum())}{self.suffix()} is taken here."
            ),
        )

    def _tell(self, words: str) -> None:
        page = _page_of(self)
        note = self._note = self._note or QLabel(page)
        note.setTextFormat(Qt.TextFormat.PlainText)
        note.setWordWrap(True)
        note.setFont(font("small"))
        note.setProperty("look", "refusal")
        # Where it must lie over something all the same, clicks go through.
        note.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        note.setText(words)
        note.ensurePolished()
        widths = (min(max(self.width(), _LEAST_NOTE_PX), _MOST_NOTE_PX), _LEAST_NOTE_PX)
        sizes = [QSize(width, note.heightForWidth(width)) for width in widths]
        field = QRect(self.mapTo(page, QPoint(0, 0)), self.size())
        note.setGeometry(_place_beside(field, sizes, page))
        note.raise_()
        note.show()
        self._mark(words)

    def _forget(self) -> None:
        if self._note is not None:
            self._note.hide()
            self._note.deleteLater()
            self._note = None
            self._mark("")

    def _mark(self, words: str) -> None:
        self.setAccessibleDescription(words)
        self.setProperty("look", "refused" if words else "")
        self.style().unpolish(self)
        self.style().polish(self)


class WholeNumberField(NumberField):
    """A field for a whole number."""

    def value(self) -> int:
        """Return the number as a whole one."""
        return round(super().value())


def once_read(page: QWidget, act: Callable[[], object]) -> Callable[[], None]:
    """Let a button act only when every number in sight could be read; else go to the first not."""

    def guarded() -> None:
        if all_read(page):
            act()

    return guarded


def all_read(page: QWidget) -> bool:
    """Take what is typed in every number field in sight; go to the first that cannot be read."""
    for field in page.window().findChildren(NumberField):
        if field.isVisible() and field.isEnabled() and not field.commit():
            field.setFocus(Qt.FocusReason.OtherFocusReason)
            field.selectAll()
            return False
    return True


def _place_beside(field: QRect, sizes: Sequence[QSize], page: QWidget) -> QRect:
    """Give the first place at a field, below before above, where nothing to click is covered."""
    places = []
    for size in sizes:
        furthest = max(0, page.width() - size.width())
        aligned = field.right() + 1 - size.width()
        # Far right of a choice stands nothing, though its widget reaches there.
        across = [max(0, min(x, furthest)) for x in (field.left(), aligned, furthest)]
        down = (field.bottom() + 1 + _GAP_PX, field.top() - size.height() - _GAP_PX)
        places += [QRect(QPoint(x, y), size) for y in down for x in across]
    inside = [each for each in places if each.top() >= 0 and each.bottom() < page.height()]
    targets = _click_targets(page)
    free = (each for each in inside if not any(map(each.intersects, targets)))
    return next(free, next(iter(inside), places[0]))


def _click_targets(page: QWidget) -> list[QRect]:
    """Give what can be clicked on a page; of a choice its mark and words."""
    targets = []
    for kind in (QAbstractButton, QLineEdit, QComboBox):
        for widget in page.findChildren(kind):
            if not widget.isVisibleTo(page):
                continue
            size = widget.size()
            if isinstance(widget, (QRadioButton, QCheckBox)):
                size = size.boundedTo(widget.sizeHint())
            targets.append(QRect(widget.mapTo(page, QPoint(0, 0)), size))
    return targets


def _page_of(field: QWidget) -> QWidget:
    """Give what a note must lie on, to move with the field and not be cut: page or window."""
    page = field
    while (parent := page.parentWidget()) is not None and not page.isWindow():
        area = parent.parentWidget()
        if isinstance(area, QScrollArea) and area.widget() is page:
            return page
        page = parent
    return page
