"""Who is listening: one seat for each evaluator of the study."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

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

from app.background import database
from app.evaluator.open_twice import both_count, holder_words
from app.listening.exposure_words import seat_words
from app.parts.buttons import QuietButton
from app.parts.headings import FindingHeading, QuestionPanel, SoftLine
from app.parts.keys_card import KeysCard
from app.parts.message_bar import MessageBar
from app.playback.dose import Listened, played_elsewhere
from ratings.errors import RatingsError
from ratings.storage.blind_study import BlindStudy
from ratings.storage.listening_desk import SessionSeat, session_seats
from ratings.storage.seat_desk import SeatDesk
from ratings.storage.seat_leases import SeatHolder, seat_holder

_BUTTON_PX = 120
_REMOVE_PX = 88
_ROW_PX = 48
_STATE_PX = 150
#: A name and its button must stand where one look takes in both.
_WIDEST_PX = 1200


class SeatsPage(QWidget):
    """Lists the seats with how far each has got, and takes a new evaluator.

    Signals
    -------
    seat_chosen(int)
        Id of the session to take up.
    unreadable(RatingsError)
        The seats could not be read.
    left
    """

    seat_chosen = Signal(object)  # int, beyond the 32 bits of a C int
    unreadable = Signal(object)
    left = Signal()

    def __init__(self, study: BlindStudy, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._study = study
        self._offered: Callable[[], None] = self.refresh
        self._newest: QPushButton | None = None
        self._listen_buttons: dict[int, QPushButton] = {}
        self._heading = FindingHeading("Who is listening?")
        self._line = SoftLine()
        self._back = back = QuietButton("Back to start")
        back.clicked.connect(self.left)
        said = QVBoxLayout()
        said.addWidget(self._heading)
        said.addWidget(self._line)
        top = QHBoxLayout()
        top.setSpacing(16)
        top.addLayout(said, 1)
        top.addWidget(back, 0, Qt.AlignmentFlag.AlignTop)
        self._panel = QuestionPanel("Choose your name")
        self._rows = QVBoxLayout()
        self._rows.setSpacing(4)
        inside = QWidget()
        inside.setLayout(self._rows)
        self._scroll = QScrollArea()
        self._scroll.setWidgetResizable(True)
        self._scroll.setFrameShape(QFrame.Shape.NoFrame)
        self._scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._scroll.setWidget(inside)
        # The list has its new height only once the layout has run.
        self._scroll.verticalScrollBar().rangeChanged.connect(self._show_newest)
        self._panel.body.addWidget(self._scroll)
        self._panel.setMaximumWidth(_WIDEST_PX)
        column = QVBoxLayout(self)
        column.setContentsMargins(40, 24, 40, 24)
        column.setSpacing(12)
        column.addLayout(top)
        column.addWidget(self._panel, 1)
        column.addWidget(self._build_new_seat())
        self._key_card = KeysCard(self)
        self._key_card.set_keys(
            [
                ("Tab", "next seat, its removal, a new name"),
                ("Enter  Space", "press the button that has the frame"),
                ("Esc", "drop a message; else back to start"),
                ("?", "this card"),
            ]
        )
        self.messages = MessageBar(self)
        self.messages.hang_over(self._heading, self._line)
        self.messages.action_asked.connect(self._take_offer)
        self.refresh()

    def refresh(self, newest: int | None = None) -> None:
        """Read the seats again; the keys go to the newest, if a session's id is given."""
        database.ask(
            self,
            lambda: _read_lines(self._study),
            lambda lines: self._show_lines(lines, newest),
            self.unreadable.emit,
        )

    def _show_lines(self, lines: Sequence[_SeatLine], newest: int | None) -> None:
        while (item := self._rows.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        self._newest = None
        self._listen_buttons.clear()
        for line in lines:
            self._rows.addWidget(self._row(line))
        self._rows.addStretch(1)
        self._order_tabs()
        if newest in self._listen_buttons:
            # Enter begins there: the seat is of whoever added it.
            self._newest = self._listen_buttons[newest]
            self._newest.setFocus(Qt.FocusReason.OtherFocusReason)
        pairs = lines[0].seat.pair_count if lines else 0
        self._line.setText(
            f"{self._study.facts.name}. Everybody hears the same {pairs} pairs in an "
            "order of their own. Choose your own name only; a session that was left "
            "goes on where it stopped."
        )

    def _order_tabs(self) -> None:
        """Let Tab go down the list, to a seat before to its removal, then to a new name."""
        stops: list[QWidget] = [self._back]
        for listen in self._listen_buttons.values():
            stops += [listen, *self._remove_buttons(listen)]
        for before, after in pairwise([*stops, self._name, self._add_button]):
            QWidget.setTabOrder(before, after)

    @staticmethod
    def _remove_buttons(listen: QPushButton) -> list[QuietButton]:
        row = listen.parentWidget()
        return [] if row is None else row.findChildren(QuietButton)

    def showEvent(self, event: QShowEvent) -> None:
        """Let the keys begin at no seat: Enter must never open another person's."""
        super().showEvent(event)
        self.setFocus(Qt.FocusReason.OtherFocusReason)

    def _build_new_seat(self) -> QWidget:
        self._name = QLineEdit()
        self._name.setPlaceholderText("name or initials")
        self._name.setAccessibleName("name of a new evaluator")
        self._name.setMaximumWidth(320)
        self._name.returnPressed.connect(self._add)
        self._add_button = add = QPushButton("Add your name")
        add.clicked.connect(self._add)
        below = QWidget()
        below.setMaximumWidth(_WIDEST_PX)
        row = QHBoxLayout(below)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(12)
        row.addWidget(SoftLine("Not in the list?"))
        row.addWidget(self._name, 1)
        row.addWidget(add)
        return below

    def _row(self, line_read: _SeatLine) -> QWidget:
        seat, holder = line_read.seat, line_read.holder
        row = QFrame()
        # A line below leads the eye from the name to its button.
        row.setProperty("look", "row")
        line = QHBoxLayout(row)
        line.setContentsMargins(0, 2, 12, 2)
        line.setSpacing(16)
        code = QLabel(seat.evaluator.code)
        code.setFixedWidth(44)
        strong = code.font()
        strong.setBold(True)
        code.setFont(strong)
        name = QLabel(seat.evaluator.name)
        name.setTextFormat(Qt.TextFormat.PlainText)
        state = QLabel(self.seat_words(seat) if holder is None else holder_words(holder))
        is_done = seat.is_finished
        look = "attention" if holder is not None else "done" if is_done else "soft"
        state.setProperty("look", look)
        line.addWidget(code)
        state.setMinimumWidth(_STATE_PX)
        today = QLabel(seat_words(line_read.today))
        today.setProperty("look", "soft")
        line.addWidget(name, 1)
        line.addWidget(today)
        line.addWidget(state)
        if is_done:
            line.addSpacing(_BUTTON_PX + _REMOVE_PX + 2 * line.spacing())
            row.setMinimumHeight(_ROW_PX)
            return row
        if not seat.is_begun and holder is None:
            line.addWidget(self._remove_button(seat))
        else:
            line.addSpacing(_REMOVE_PX + line.spacing())
        line.addWidget(self._seat_button(seat))
        return row

    def _remove_button(self, seat: SessionSeat) -> QuietButton:
        button = QuietButton("Remove")
        button.setFixedWidth(_REMOVE_PX)
        button.setAccessibleName(f"Remove {seat.evaluator.code} {seat.evaluator.name}")
        button.clicked.connect(lambda _checked=False: self._ask_removal(seat))
        return button

    def _seat_button(self, seat: SessionSeat) -> QPushButton:
        words = "Go on" if seat.is_begun else "Listen"
        button = QPushButton(words)
        button.setFixedWidth(_BUTTON_PX)
        self._listen_buttons[seat.session_id] = button
        button.setAccessibleName(f"{words} as {seat.evaluator.code} {seat.evaluator.name}")
        button.clicked.connect(lambda _checked=False: self._choose(seat))
        return button

    def seat_words(self, seat: SessionSeat) -> str:
        """Say how far a seat has got."""
        if seat.is_finished:
            return f"finished, {seat.pair_count} pairs"
        if not seat.is_begun:
            return f"not begun, {seat.pair_count} pairs"
        return f"{seat.locked_count} of {seat.pair_count} pairs rated"

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Close a message with Esc, go back when there is none; ``?`` shows the keys."""
        if event.key() == Qt.Key.Key_Escape and self.messages.isVisible():
            self.messages.clear()
        elif event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        elif event.text() == "?":
            self._key_card.open()
        else:
            super().keyPressEvent(event)

    def _choose(self, seat: SessionSeat) -> None:
        database.ask(
            self,
            lambda: seat_holder(self._study, seat.session_id),
            lambda holder: self._take_choice(seat, holder),
            self._tell,
        )

    def _take_choice(self, seat: SessionSeat, holder: SeatHolder | None) -> None:
        if holder is None:
            self.seat_chosen.emit(seat.session_id)
            return
        self._offer(
            f"{seat.evaluator.name or seat.evaluator.code} is {holder_words(holder)}.",
            both_count(),
            "Open it here too",
            lambda: self.seat_chosen.emit(seat.session_id),
        )

    def _ask_removal(self, seat: SessionSeat) -> None:
        who = f"{seat.evaluator.code} {seat.evaluator.name}".strip()
        self._offer(
            f"Remove {who} from the list?",
            "Nobody has begun there; no score is lost.",
            f"Remove {seat.evaluator.code}",
            lambda: self._remove(seat.session_id),
        )

    def _remove(self, session_id: int) -> None:
        self.messages.clear()
        database.ask(
            self,
            lambda: SeatDesk(self._study).give_back(session_id),
            lambda _nothing: self.refresh(),
            self._tell,
        )
        self.setFocus(Qt.FocusReason.OtherFocusReason)

    def _offer(self, happened: str, to_do: str, words: str, act: Callable[[], None]) -> None:
        self._offered = act
        self.messages.tell(happened, to_do, "attention", words)
        self.messages.take_keys()

    def _take_offer(self) -> None:
        self._offered()

    def _add(self) -> None:
        if not self._add_button.isEnabled():
            return
        if not self._name.text().strip():
            self.messages.tell(
                "A new seat needs a name or initials.",
                "Write who will sit there; the lead sees it beside the code.",
            )
            self._name.setFocus()
            return
        # Not twice by a second Enter.
        self._add_button.setEnabled(False)
        name = self._name.text()
        database.ask(
            self,
            lambda: SeatDesk(self._study).seat(name),
            self._show_added,
            self._tell,
            lambda: self._add_button.setEnabled(True),
        )

    def _show_added(self, session_id: int) -> None:
        self._name.clear()
        self.messages.clear()
        self.refresh(session_id)

    def _show_newest(self) -> None:
        """Bring a new seat into sight."""
        if self._newest is not None:
            self._scroll.ensureWidgetVisible(self._newest, 0, _ROW_PX)

    def _tell(self, problem: RatingsError) -> None:
        self.messages.tell(problem.what_happened, problem.what_to_do, "attention")


@dataclass(frozen=True, slots=True)
class _SeatLine:
    """A seat, who has it open now, and what its evaluator was played today."""

    seat: SessionSeat
    holder: SeatHolder | None
    today: Listened


def _read_lines(study: BlindStudy) -> list[_SeatLine]:
    here = SeatDesk(study).exposure_today()
    lines = []
    for seat in session_seats(study):
        elsewhere = played_elsewhere(seat.evaluator, study).stretches
        today = Listened.of([*here.get(seat.evaluator.code, ()), *elsewhere])
        lines.append(_SeatLine(seat, seat_holder(study, seat.session_id), today))
    return lines
