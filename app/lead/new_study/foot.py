"""The foot of the page: where the study goes, the button that makes it, and how far it has got."""

from dataclasses import replace

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFontMetrics, QResizeEvent
from PySide6.QtWidgets import (
    QLabel,
    QPushButton,
    QStackedLayout,
    QWidget,
)

from app.lead.new_study.presenter import NewStudyPresenter
from app.parts.buttons import OnceButton, PrimaryButton
from app.parts.fields import once_read
from app.parts.layouts import Stretched, in_row
from app.parts.plain import plain_tooltip
from app.parts.thin_bar import ThinBar
from ratings.study.wording import remaining_words

_UNDO_PX = 260


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
        self.change_place = QPushButton("Choose another folder")
        self.change_place.clicked.connect(self.place_asked)
        self.offer = PrimaryButton("")
        self.offer.clicked.connect(self._take_offer)
        self.gain = QPushButton()
        self.gain.setToolTip("Make the clips at the level of the recordings again")
        self.gain.clicked.connect(lambda: presenter.change(replace(presenter.draft, gain_db=0.0)))
        self.put_back = OnceButton()
        self.put_back.clicked.connect(self._put_back)
        self.make = PrimaryButton("Make the study")
        self.make.clicked.connect(once_read(self, presenter.make))
        self._bar = ThinBar("part of the making that is done")
        self._words = QLabel()
        self._words.setMinimumWidth(420)
        self.cancel = OnceButton("Cancel")
        self.cancel.clicked.connect(presenter.maker.cancel)
        self._stack = QStackedLayout(self)
        self._stack.addWidget(
            _row(self._place, self.put_back, self.gain, self.change_place, self.offer, self.make)
        )
        self._stack.addWidget(_row(self._bar, self._words, self.cancel))
        #: Where Tab leads, in this order.
        self.stops = (
            *(self.put_back, self.gain, self.change_place),
            *(self.offer, self.make, self.cancel),
        )
        presenter.changed.connect(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Show the place, or how far the making has got."""
        state = self._presenter.maker.state
        if state is None:
            self._place.show_path(f"Goes to {self._presenter.draft.folder}")
            self.make.setEnabled(self._presenter.shortcoming() is None)
            self._show_offer()
            if self._stack.currentIndex() == 1:
                # The button that had the keys is gone; they go to what comes next.
                self._stack.setCurrentIndex(0)
                self._focus_step()
            return
        begins = self._stack.currentIndex() == 0
        self._bar.show_part(state.part)
        left = remaining_words(state.seconds_left)
        self._words.setText(", ".join(part for part in (state.words, left) if part))
        self.cancel.setEnabled(not state.is_stopping)
        self._stack.setCurrentIndex(1)
        if begins:
            self.cancel.setFocus(Qt.FocusReason.OtherFocusReason)

    def _show_offer(self) -> None:
        offer, gain_db = self._presenter.offer(), self._presenter.draft.gain_db
        self.offer.setText("" if offer is None else offer.words)
        self.offer.setVisible(offer is not None)
        self.make.setVisible(offer is None)
        self.gain.setText(f"Undo: all clips {-gain_db:.1f} dB lower")
        self.gain.setVisible(gain_db != 0.0)
        removed = self._presenter.removed
        words = f"Undo: removed {removed}"
        metrics, end = self.put_back.fontMetrics(), Qt.TextElideMode.ElideRight
        self.put_back.setText(metrics.elidedText(words, end, _UNDO_PX))
        self.put_back.setAccessibleName(words)
        self.put_back.setToolTip(plain_tooltip(words))
        self.put_back.setVisible(bool(removed))

    def _take_offer(self) -> None:
        self._presenter.take_offer()
        self._focus_step()

    def _put_back(self) -> None:
        self._presenter.put_back()
        self._focus_step()

    def _focus_step(self) -> None:
        step = self.make if self.offer.isHidden() else self.offer
        step.setFocus(Qt.FocusReason.OtherFocusReason)


def _row(stretching: QWidget, *others: QWidget) -> QWidget:
    row = QWidget()
    in_row(Stretched(stretching), *others, of=row, gap_px=16)
    return row
