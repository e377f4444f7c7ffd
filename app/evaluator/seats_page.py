"""Who is listening: one seat for each evaluator of the study."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QShowEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.evaluator.exposure_words import seat_words
from app.parts.buttons import QuietButton
from app.parts.headings import FindingHeading, QuestionPanel, SoftLine
from app.parts.message_bar import MessageBar
from app.playback.dose import Listened
from ratings.errors import RatingsError
from ratings.storage.blind_study import BlindStudy
from ratings.storage.exposure_rows import Played
from ratings.storage.listening_desk import SessionSeat, session_seats
from ratings.storage.seat_desk import SeatDesk

_BUTTON_PX = 120
_ROW_PX = 48
_STATE_PX = 150


class SeatsPage(QWidget):
    """Lists the seats with how far each has got, and takes a new evaluator.

    Signals
    -------
    seat_chosen(int)
        Id of the session to take up.
    left
    """

    seat_chosen = Signal(int)
    left = Signal()

    def __init__(self, study: BlindStudy, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._study = study
        self._first_waiting: QPushButton | None = None
        self.messages = MessageBar()
        self._heading = FindingHeading(self.tr("Who is listening?"))
        self._line = SoftLine()
        back = QuietButton(self.tr("Back to the doors"))
        back.clicked.connect(self.left)
        top = QHBoxLayout()
        top.addWidget(self._heading, 1)
        top.addWidget(back)
        self._panel = QuestionPanel(self.tr("Choose your seat"))
        self._rows = QVBoxLayout()
        self._rows.setSpacing(4)
        inside = QWidget()
        inside.setLayout(self._rows)
        scroll = QScrollArea()
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setWidget(inside)
        self._panel.body.addWidget(scroll)
        column = QVBoxLayout(self)
        column.setContentsMargins(40, 24, 40, 24)
        column.setSpacing(12)
        column.addLayout(top)
        column.addWidget(self._line)
        column.addWidget(self.messages)
        column.addWidget(self._panel, 1)
        column.addLayout(self._build_new_seat())
        self.refresh()

    def refresh(self) -> None:
        """Read the seats again."""
        while (item := self._rows.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        seats = session_seats(self._study)
        played = SeatDesk(self._study).exposure_today()
        self._first_waiting = None
        for seat in seats:
            self._rows.addWidget(self._row(seat, played.get(seat.evaluator.code, [])))
        self._rows.addStretch(1)
        pairs = seats[0].pair_count if seats else 0
        self._line.setText(
            self.tr(
                "{0}. Each seat hears the same {1} pairs in an order of its own. Take your own "
                "seat only; a session that was left goes on where it stopped."
            ).format(self._study.facts.name, pairs)
        )

    def _build_new_seat(self) -> QHBoxLayout:
        self._name = QLineEdit()
        self._name.setPlaceholderText(self.tr("name or initials"))
        self._name.setAccessibleName(self.tr("name of a new evaluator"))
        self._name.setMaximumWidth(320)
        self._name.returnPressed.connect(self._add)
        add = QPushButton(self.tr("Add a seat"))
        add.clicked.connect(self._add)
        row = QHBoxLayout()
        row.setSpacing(12)
        row.addWidget(SoftLine(self.tr("Not in the list?")))
        row.addWidget(self._name, 1)
        row.addWidget(add)
        return row

    def _row(self, seat: SessionSeat, played: Sequence[Played]) -> QWidget:
        row = QWidget()
        line = QHBoxLayout(row)
        line.setContentsMargins(0, 2, 12, 2)
        line.setSpacing(16)
        code = QLabel(seat.evaluator.code)
        code.setFixedWidth(56)
        strong = code.font()
        strong.setBold(True)
        code.setFont(strong)
        name = QLabel(seat.evaluator.name)
        name.setTextFormat(Qt.TextFormat.PlainText)
        state = QLabel(self.seat_words(seat))
        state.setProperty("look", "done" if seat.locked_count == seat.pair_count else "soft")
        line.addWidget(code)
        state.setMinimumWidth(_STATE_PX)
        today = QLabel(seat_words(Listened.of(played)))
        today.setProperty("look", "soft")
        line.addWidget(name, 1)
        line.addWidget(today)
        line.addWidget(state)
        if seat.locked_count == seat.pair_count:
            line.addSpacing(_BUTTON_PX + line.spacing())
            row.setMinimumHeight(_ROW_PX)
        else:
            line.addWidget(self._seat_button(seat))
        return row

    def _seat_button(self, seat: SessionSeat) -> QPushButton:
        words = self.tr("Listen") if seat.locked_count == 0 else self.tr("Go on")
        button = QPushButton(words)
        button.setFixedWidth(_BUTTON_PX)
        self._first_waiting = self._first_waiting or button
        button.setAccessibleName(
            self.tr("{0} as {1} {2}").format(words, seat.evaluator.code, seat.evaluator.name)
        )
        button.clicked.connect(
            lambda _checked=False, number=seat.session_id: self.seat_chosen.emit(number)
        )
        return button

    def seat_words(self, seat: SessionSeat) -> str:
        """Say how far a seat has got."""
        if seat.locked_count == seat.pair_count:
            return self.tr("finished, {0} pairs").format(seat.pair_count)
        if seat.locked_count == 0:
            return self.tr("not begun, {0} pairs").format(seat.pair_count)
        return self.tr("{0} of {1} pairs rated").format(seat.locked_count, seat.pair_count)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc goes back."""
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def showEvent(self, event: QShowEvent) -> None:
        """Let the keys begin at the first seat that waits."""
        super().showEvent(event)
        if self._first_waiting is not None:
            self._first_waiting.setFocus(Qt.FocusReason.OtherFocusReason)

    def _add(self) -> None:
        if not self._name.text().strip():
            self.messages.tell(
                self.tr("A new seat needs a name or initials."),
                self.tr("Write who will sit there; the lead sees it beside the code."),
            )
            self._name.setFocus()
            return
        try:
            SeatDesk(self._study).seat(self._name.text())
        except RatingsError as problem:
            self.messages.tell(problem.what_happened, problem.what_to_do, "attention")
            return
        self._name.clear()
        self.refresh()
