"""Headings that say the finding, soft lines under them, and the panel that answers a question."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QLabel, QSizePolicy, QVBoxLayout, QWidget

from app.parts.fonts import FontRole, font


class _Line(QLabel):
    def __init__(self, text: str, role: FontRole, parent: QWidget | None) -> None:
        super().__init__(text, parent)
        self.setFont(font(role))
        self.setWordWrap(True)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)


class FindingHeading(_Line):
    """The heading of a page: the finding in one sentence."""

    def __init__(self, text: str = "", parent: QWidget | None = None) -> None:
        super().__init__(text, "finding", parent)


class PageHeading(_Line):
    """The smaller heading of a working page, where there is no finding yet."""

    def __init__(self, text: str = "", parent: QWidget | None = None) -> None:
        super().__init__(text, "heading", parent)
        # A label that may wrap asks for two lines of a screen that has no room to give.
        self.setWordWrap(False)


class SoftLine(_Line):
    """A line in soft text: what the finding rests on, or how to go on."""

    def __init__(self, text: str = "", parent: QWidget | None = None) -> None:
        super().__init__(text, "body", parent)
        self.setProperty("look", "soft")


class QuestionPanel(QFrame):
    """A rounded panel headed by the question that its contents answer.

    Attributes
    ----------
    body
        The layout to put the answer into.
    """

    def __init__(self, question: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("look", "panel")
        self._question = _Line(question, "strong", self)
        self.setAccessibleName(question)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(20, 16, 20, 20)
        outer.setSpacing(12)
        outer.addWidget(self._question)
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
            self.tr(
                "This could not be shown: a fault of the program, written to its log. All scores "
                "are saved."
            )
        )

    def set_question(self, question: str) -> None:
        """Change the question that the panel answers."""
        self._question.setText(question)
        self.setAccessibleName(question)
