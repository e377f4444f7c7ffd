"""The foot of the page: where the study goes, the button that makes it, and how far it has got."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFontMetrics, QResizeEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QProgressBar,
    QPushButton,
    QStackedLayout,
    QWidget,
)

from app.lead.new_study.presenter import NewStudyPresenter
from app.lead.new_study.words import remaining_words
from app.parts.buttons import PrimaryButton
from app.parts.plain import plain_tooltip

_FINE_STEPS = 1000


class _PathLine(QLabel):
    """A line that leaves out the middle of a long path and tells all of it when asked."""

    def __init__(self) -> None:
        super().__init__()
        self._whole = ""
        self.setProperty("look", "soft")
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setMinimumWidth(80)

    def show_path(self, words: str) -> None:
        self._whole = words
        self.setToolTip(plain_tooltip(words))
        self.setAccessibleName(words)
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        room = max(self.width(), 80)
        metrics = QFontMetrics(self.font())
        self.setText(metrics.elidedText(self._whole, Qt.TextElideMode.ElideMiddle, room))


class StudyFoot(QWidget):
    """Shows the place and the button, and while the study is made its progress.

    Signals
    -------
    place_asked
        The lead wants to choose another place.
    """

    place_asked = Signal()

    def __init__(self, presenter: NewStudyPresenter, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._presenter = presenter
        self._place = _PathLine()
        self.change_place = QPushButton(self.tr("Choose another folder"))
        self.change_place.clicked.connect(self.place_asked)
        self.make = PrimaryButton(self.tr("Make the study"))
        self.make.clicked.connect(presenter.make)
        self._bar = QProgressBar()
        self._bar.setRange(0, _FINE_STEPS)
        self._bar.setTextVisible(False)
        self._bar.setFixedHeight(8)
        self._words = QLabel()
        self._words.setMinimumWidth(420)
        self.cancel = QPushButton(self.tr("Cancel"))
        self.cancel.clicked.connect(presenter.maker.cancel)
        self._stack = QStackedLayout(self)
        self._stack.addWidget(self._row(self._place, self.change_place, self.make))
        self._stack.addWidget(self._row(self._bar, self._words, self.cancel))
        presenter.changed.connect(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Show the place, or how far the making has got."""
        state = self._presenter.maker.state
        if state is None:
            self._place.show_path(self.tr("Goes to {0}").format(self._presenter.draft.folder))
            self.make.setEnabled(self._presenter.shortcoming() is None)
            self._stack.setCurrentIndex(0)
            return
        begins = self._stack.currentIndex() == 0
        self._bar.setValue(round(state.part * _FINE_STEPS))
        left = remaining_words(state.seconds_left)
        self._words.setText(", ".join(part for part in (state.words, left) if part))
        self.cancel.setEnabled(not state.is_stopping)
        self._stack.setCurrentIndex(1)
        if begins:
            self.cancel.setFocus(Qt.FocusReason.OtherFocusReason)

    def _row(self, stretching: QWidget, *others: QWidget) -> QWidget:
        row = QWidget()
        line = QHBoxLayout(row)
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(16)
        line.addWidget(stretching, 1)
        for widget in others:
            line.addWidget(widget)
        return row
