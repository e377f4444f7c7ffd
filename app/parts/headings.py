"""Headings that say the finding, soft lines under them, and the panel that answers a question."""

from bisect import bisect

from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from app.parts.fonts import FontRole, font
from app.parts.plain import plain_tooltip

_ANY_HEIGHT_PX = 100_000
#: A finding that is longer would take three lines and more.
_LONG_LETTERS = 110


class PlainLine(QLabel):
    """A text of any length as it was written, broken into lines where it must be."""

    def __init__(
        self, text: str = "", role: FontRole = "body", parent: QWidget | None = None
    ) -> None:
        super().__init__(text, parent)
        self._whole = text
        self._held_lines = 0
        self.setFont(font(role))
        self.setWordWrap(True)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)

    def hold_lines(self, lines: int) -> None:
        """Be as high as so many lines, whatever is said: nothing below moves under the pointer.

        What needs more is cut off and told whole by the tooltip.
        """
        self._held_lines = lines
        self._fit()

    def text(self) -> str:
        """Return all that is said, also what is cut off."""
        return self._whole

    def setText(self, text: str) -> None:
        """Say something else."""
        self._whole = text
        if self._held_lines:
            self._fit()
        else:
            super().setText(text)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Cut off at the new width."""
        super().resizeEvent(event)
        if self._held_lines:
            self._fit()

    def _fit(self) -> None:
        high = self._held_lines * self._height_of("x")
        self.setFixedHeight(high)
        shown = self._whole
        if self._height_of(shown) > high:
            kept = bisect(range(len(shown)), high, key=lambda n: self._height_of(f"{shown[:n]}…"))
            shown = f"{shown[: max(kept - 1, 0)].rstrip()}…"
        super().setText(shown)
        self.setAccessibleName(self._whole)
        self.setToolTip(plain_tooltip(self._whole) if shown != self._whole else "")

    def _height_of(self, text: str) -> int:
        room = QRect(0, 0, self.width(), _ANY_HEIGHT_PX)
        return self.fontMetrics().boundingRect(room, Qt.TextFlag.TextWordWrap, text).height()


class FindingHeading(PlainLine):
    """The heading of a page: the finding in one sentence; smaller where it is a long one."""

    def __init__(self, text: str = "", parent: QWidget | None = None) -> None:
        super().__init__(text, "finding", parent)
        self._is_small = False

    def setText(self, text: str) -> None:
        """Say something else."""
        self._fit_size(text)
        super().setText(text)

    def be_small(self, *, is_small: bool) -> None:
        """Be small whatever is said: the page has little room."""
        self._is_small = is_small
        self._fit_size(self.text())

    def _fit_size(self, text: str) -> None:
        # One that holds its lines keeps its height, and so its size.
        if not self._held_lines:
            is_small = self._is_small or len(text) > _LONG_LETTERS
            self.setFont(font("heading" if is_small else "finding"))


class PageHeading(PlainLine):
    """The smaller heading of a working page, where there is no finding yet."""

    def __init__(self, text: str = "", parent: QWidget | None = None) -> None:
        super().__init__(text, "heading", parent)
        # A label that may wrap asks for two lines of a screen that has no room to give.
        self.setWordWrap(False)


class SoftLine(PlainLine):
    """A line in soft text: what the finding rests on, or how to go on."""

    def __init__(self, text: str = "", parent: QWidget | None = None) -> None:
        super().__init__(text, "body", parent)
        self.setProperty("look", "soft")


def plain_label(text: str, role: FontRole = "body", look: str = "") -> QLabel:
    """Return a label of one line that shows a text as it was written, never as markup."""
    label = QLabel(text)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setFont(font(role))
    if look:
        label.setProperty("look", look)
    return label


class QuestionPanel(QFrame):
    """A rounded panel headed by the question that its contents answer.

    Attributes
    ----------
    body
        The layout to put the answer into.

    Parameters
    ----------
    beside
        What stands right of the question, such as a choice of what is shown; None for nothing.
    """

    def __init__(
        self, question: str, parent: QWidget | None = None, beside: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setProperty("look", "panel")
        self._question = PlainLine(question, "strong", self)
        self.setAccessibleName(question)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(20, 16, 20, 20)
        outer.setSpacing(12)
        if beside is None:
            outer.addWidget(self._question)
        else:
            head = QHBoxLayout()
            head.setSpacing(16)
            head.addWidget(self._question, 1)
            head.addWidget(beside)
            outer.addLayout(head)
        self._failure = SoftLine("", self)
        self._failure.hide()
        outer.addWidget(self._failure)
        self._answer = QWidget(self)
        self.body = QVBoxLayout(self._answer)
        self.body.setContentsMargins(0, 0, 0, 0)
        self.body.setSpacing(8)
        outer.addWidget(self._answer, 1)

    def set_failed(self, *, has_failed: bool) -> None:
        """Say in the place of the answer that the program failed in it, or show the answer."""
        self._answer.setVisible(not has_failed)
        self._failure.setVisible(has_failed)
        self._failure.setText(
            "This could not be shown: a fault of the program, written to its log. All scores "
            "are saved."
        )

    def set_question(self, question: str) -> None:
        """Change the question that the panel answers."""
        self._question.setText(question)
        self.setAccessibleName(question)
