"""Who is listening: one seat for each evaluator of the study."""

from itertools import pairwise

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QShowEvent
from PySide6.QtWidgets import QFrame, QLineEdit, QPushButton, QVBoxLayout, QWidget

from app.evaluator.seats_presenter import Offer, SeatRow, SeatsPresenter
from app.parts.buttons import QuietButton
from app.parts.headings import FindingHeading, QuestionPanel, SoftLine, plain_label
from app.parts.keys_card import KeysCard
from app.parts.layouts import Aligned, Stretched, clear_layout, in_column, in_row
from app.parts.message_bar import MessageBar
from app.parts.sheet import PlainScroll
from ratings.errors import RatingsError

_BUTTON_PX = 120
_REMOVE_PX = 88
_ROW_PX = 48
_STATE_PX = 150
_CODE_PX = 44
#: A name and its button must stand where one look takes in both.
_WIDEST_PX = 1200


class SeatsPage(QWidget):
    """Lists the seats with how far each has got, and takes a new evaluator.

    Signals
    -------
    left
    """

    left = Signal()

    def __init__(self, presenter: SeatsPresenter, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._presenter = presenter
        self._listen_buttons: dict[int, QPushButton] = {}
        self._heading = FindingHeading("Who is listening?")
        self._line = SoftLine()
        self._back = QuietButton("Back to start")
        self._back.clicked.connect(self.left)
        said = in_column(self._heading, self._line)
        top = in_row(Stretched(said), Aligned(self._back, Qt.AlignmentFlag.AlignTop), gap_px=16)
        in_column(
            top,
            Stretched(self._build_list()),
            self._build_new_seat(),
            of=self,
            gap_px=12,
            margins_px=(40, 24, 40, 24),
        )
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
        presenter.changed.connect(self._show_seats)
        presenter.offered.connect(self._show_offer)
        presenter.problem_raised.connect(self._tell)
        presenter.name_missing.connect(self._ask_name)
        presenter.settled.connect(self.messages.clear)
        presenter.added.connect(self._name.clear)
        presenter.adding_changed.connect(self._show_adding)
        if presenter.rows:
            # Else they are being read; nothing is said of them before.
            self._show_seats()

    def showEvent(self, event: QShowEvent) -> None:
        """Let the keys begin at no seat: Enter must never open another person's."""
        super().showEvent(event)
        self.setFocus(Qt.FocusReason.OtherFocusReason)

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

    def _build_list(self) -> QWidget:
        inside = QWidget()
        self._rows = QVBoxLayout(inside)
        self._rows.setSpacing(4)
        self._scroll = PlainScroll(inside)
        # The list has its new height only once the layout has run.
        self._scroll.verticalScrollBar().rangeChanged.connect(self._show_newest)
        panel = QuestionPanel("Choose your name")
        panel.body.addWidget(self._scroll)
        panel.setMaximumWidth(_WIDEST_PX)
        return panel

    def _build_new_seat(self) -> QWidget:
        self._name = QLineEdit()
        self._name.setPlaceholderText("name or initials")
        self._name.setAccessibleName("name of a new evaluator")
        self._name.setMaximumWidth(320)
        self._name.returnPressed.connect(self._add)
        self._add_button = QPushButton("Add your name")
        self._add_button.clicked.connect(self._add)
        below = QWidget()
        below.setMaximumWidth(_WIDEST_PX)
        asked = SoftLine("Not in the list?")
        in_row(asked, Stretched(self._name), self._add_button, of=below, gap_px=12)
        return below

    def _show_seats(self) -> None:
        clear_layout(self._rows)
        self._listen_buttons.clear()
        stops: list[QWidget] = [self._back]
        for row in self._presenter.rows:
            widget, buttons = self._row(row)
            self._rows.addWidget(widget)
            stops += buttons
        self._rows.addStretch(1)
        self._line.setText(self._presenter.line())
        # Tab goes down the list, to a seat before to its removal, then to a new name.
        for before, after in pairwise([*stops, self._name, self._add_button]):
            QWidget.setTabOrder(before, after)
        newest = self._newest_button()
        if newest is not None:
            # Enter begins there: the seat is of whoever added it.
            newest.setFocus(Qt.FocusReason.OtherFocusReason)

    def _row(self, row: SeatRow) -> tuple[QWidget, list[QWidget]]:
        frame = QFrame()
        # A line below leads the eye from the name to its button.
        frame.setProperty("look", "row")
        code = plain_label(row.code)
        code.setFixedWidth(_CODE_PX)
        strong = code.font()
        strong.setBold(True)
        code.setFont(strong)
        state = plain_label(row.state, look=row.look)
        state.setMinimumWidth(_STATE_PX)
        line = in_row(
            code,
            Stretched(plain_label(row.name)),
            plain_label(row.today, look="soft"),
            state,
            of=frame,
            gap_px=16,
            margins_px=(0, 2, 12, 2),
        )
        buttons: list[QWidget] = []
        if row.step:
            buttons.append(self._listen_button(row))
        if row.can_remove:
            buttons.append(self._remove_button(row))
            line.addWidget(buttons[-1])
        else:
            line.addSpacing(_REMOVE_PX + line.spacing())
        if row.step:
            line.addWidget(buttons[0])
        else:
            line.addSpacing(_BUTTON_PX + line.spacing())
            frame.setMinimumHeight(_ROW_PX)
        return frame, buttons

    def _remove_button(self, row: SeatRow) -> QuietButton:
        button = QuietButton("Remove")
        button.setFixedWidth(_REMOVE_PX)
        button.setAccessibleName(f"Remove {row.code} {row.name}")
        button.clicked.connect(lambda _checked=False: self._presenter.ask_removal(row))
        return button

    def _listen_button(self, row: SeatRow) -> QPushButton:
        button = QPushButton(row.step)
        button.setFixedWidth(_BUTTON_PX)
        button.setAccessibleName(f"{row.step} as {row.code} {row.name}")
        button.clicked.connect(lambda _checked=False: self._presenter.choose(row))
        self._listen_buttons[row.session_id] = button
        return button

    def _show_adding(self) -> None:
        self._add_button.setEnabled(self._presenter.can_add)

    def _add(self) -> None:
        self._presenter.add(self._name.text())

    def _newest_button(self) -> QPushButton | None:
        newest = self._presenter.newest
        return None if newest is None else self._listen_buttons.get(newest)

    def _show_newest(self) -> None:
        """Bring a new seat into sight."""
        newest = self._newest_button()
        if newest is not None:
            self._scroll.ensureWidgetVisible(newest, 0, _ROW_PX)

    def _show_offer(self, offer: Offer) -> None:
        self.messages.tell(offer.happened, offer.to_do, "attention", offer.words)
        self.messages.take_keys()

    def _take_offer(self) -> None:
        self._presenter.take_offer()
        self.setFocus(Qt.FocusReason.OtherFocusReason)

    def _ask_name(self, problem: RatingsError) -> None:
        self.messages.tell(problem.what_happened, problem.what_to_do)
        self._name.setFocus()

    def _tell(self, problem: RatingsError) -> None:
        self.messages.tell(problem.what_happened, problem.what_to_do, "attention")
