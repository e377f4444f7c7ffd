"""The panel page: who has a seat, how far each has got, and a seat for one more."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.background import database
from app.background.database import Poll
from app.lead.panel.exposure import PanelReading, read_panel
from app.lead.panel.exposure_view import ExposurePanel
from app.lead.panel.progress_posts import ProgressPosts
from app.parts.fonts import font
from app.parts.headings import FindingHeading, QuestionPanel, SoftLine
from app.parts.sheet import SheetScroll
from ratings.errors import DesignError
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import SessionSeat
from ratings.storage.study_folder import Study
from ratings.study.listening import Evaluator
from ratings.study.wording import counted

#: How often the figures of what was played are read anew, while they are in sight.
EXPOSURE_MS = 10_000


class PanelPage(QWidget):
    """Lists the seats with what each has been played, and takes a new evaluator.

    Signals
    -------
    seat_added()
    problem_raised(RatingsError)
        The seat could not be added, or what was played could not be read.
    """

    seat_added = Signal()
    problem_raised = Signal(object)  # RatingsError

    def __init__(self, study: Study, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._study = study
        self._shown: tuple[Sequence[SessionSeat], Sequence[str]] | None = None
        self._people: tuple[Evaluator, ...] = ()
        self._heading = FindingHeading()
        self._blind_words = "Each seat hears the same pairs in an order of its own, blind."
        self._line = SoftLine(self._blind_words)
        self._exposure = ExposurePanel()
        self.poll = Poll(lambda: read_panel(study, self._people), EXPOSURE_MS, self)
        self.poll.was_read.connect(self._show_exposure)
        self.poll.problem_raised.connect(self.problem_raised)
        self._rows = QGridLayout()
        self._rows.setHorizontalSpacing(20)
        self._rows.setVerticalSpacing(4)
        self._rows.setColumnStretch(3, 1)
        self._build()

    def show_seats(self, seats: Sequence[SessionSeat], brought: Sequence[str] = ()) -> None:
        """Show these seats, and the evaluators whose scores were only brought in."""
        if (seats, brought) == self._shown:
            return
        self._shown = seats, brought
        self._people = tuple(seat.evaluator for seat in seats)
        while (item := self._rows.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        self._heading.setText(self.panel_words(seats))
        for row, seat in enumerate(seats):
            self._add_row(row, seat)
        for row, code in enumerate(brought, start=len(seats)):
            self._add_brought_row(row, code)

    def _show_exposure(self, reading: PanelReading) -> None:
        for problem in reading.problems:
            self.problem_raised.emit(problem)
        exposure = reading.exposure
        self._exposure.show_exposure(exposure)
        # Ears that have had too much are not left to the end of the page.
        is_over = any(row.is_over for row in exposure.rows)
        blind = f"{self._blind_words} {reading.hiding}".rstrip()
        self._line.setText(exposure.finding if is_over else blind)

    def at_stake(self) -> str:
        """Say which name is written and has no seat; empty when there is none."""
        name = self._name.text().strip()
        return f"{name} is written and has no seat yet." if name else ""

    def showEvent(self, event: QShowEvent) -> None:
        """Keep the figures of what was played up to date while they are in sight."""
        super().showEvent(event)
        self.poll.start()

    def hideEvent(self, event: QHideEvent) -> None:
        """Rest while nobody looks."""
        self.poll.stop()
        super().hideEvent(event)

    def panel_words(self, seats: Sequence[SessionSeat]) -> str:
        """Say how far the panel has got."""
        if not seats:
            return "Nobody has a seat yet."
        in_count, waiting = _counts(seats)
        if in_count == len(seats):
            if in_count == 1:
                return "The one evaluator has finished."
            return f"All {len(seats)} evaluators have finished."
        parts = [
            (
                f"{in_count} of {counted(len(seats), 'evaluator')} "
                f"{'has' if in_count == 1 or len(seats) == 1 else 'have'} finished"
            )
        ]
        under_way = len(seats) - in_count - waiting
        if under_way:
            is_are = "is" if under_way == 1 else "are"
            parts.append(f"{under_way} {is_are} under way")
        if waiting:
            has_have = "has" if waiting == 1 else "have"
            parts.append(f"{waiting} {has_have} not begun")
        return ", ".join(parts) + "."

    def station_line(self, seats: Sequence[SessionSeat]) -> str:
        """Say what is missing, in a few words."""
        in_count, waiting = _counts(seats)
        if not seats:
            return "no seat yet"
        if waiting:
            return f"{waiting} {'have' if waiting > 1 else 'has'} not begun"
        if in_count < len(seats):
            return f"{len(seats) - in_count} under way"
        return f"all {len(seats)} have finished"

    def _build(self) -> None:
        seats = QuestionPanel("Who has got how far?")
        seats.body.addLayout(self._rows)
        another = QuestionPanel("Is somebody missing?")
        another.body.addLayout(self._build_new_seat())
        panels = QVBoxLayout()
        panels.setContentsMargins(0, 0, 0, 0)
        panels.setSpacing(16)
        panels.addWidget(seats)
        panels.addWidget(another)
        panels.addWidget(self._exposure)
        panels.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(28, 20, 20, 16)
        column.setSpacing(8)
        column.addWidget(self._heading)
        column.addWidget(self._line)
        column.addSpacing(8)
        column.addWidget(SheetScroll(panels), 1)

    def _build_new_seat(self) -> QHBoxLayout:
        self._name = QLineEdit()
        self._name.setPlaceholderText("name or initials")
        self._name.setAccessibleName("name or initials of a new evaluator")
        self._name.setMaximumWidth(320)
        self._name.returnPressed.connect(self._add)
        self._add_button = QPushButton("Add a seat")
        self._add_button.clicked.connect(self._add)
        for widget in (self._name, self._add_button):
            widget.setEnabled(not self._study.is_read_only)
        row = QHBoxLayout()
        row.setSpacing(12)
        row.addWidget(self._name, 1)
        row.addWidget(self._add_button)
        row.addStretch(1)
        return row

    def _add_row(self, row: int, seat: SessionSeat) -> None:
        code = QLabel(seat.evaluator.code)
        code.setFont(font("strong"))
        code.setMinimumHeight(36)
        name = QLabel(seat.evaluator.name)
        name.setTextFormat(Qt.TextFormat.PlainText)
        state = QLabel(self._seat_words(seat))
        state.setProperty("look", "done" if _is_in(seat) else "soft")
        posts = ProgressPosts(seat.locked_count, seat.pair_count)
        for column, widget in enumerate((code, name, posts, state)):
            self._rows.addWidget(widget, row, column)

    def _add_brought_row(self, row: int, code: str) -> None:
        who = QLabel(code)
        who.setFont(font("strong"))
        who.setTextFormat(Qt.TextFormat.PlainText)
        who.setMinimumHeight(36)
        state = QLabel("scores imported")
        state.setProperty("look", "soft")
        self._rows.addWidget(who, row, 0)
        self._rows.addWidget(state, row, 3)

    def _seat_words(self, seat: SessionSeat) -> str:
        if _is_in(seat):
            return f"finished, all {seat.pair_count} pairs rated"
        if not seat.is_begun:
            return f"not begun, {seat.pair_count} pairs"
        return f"under way, {seat.locked_count} of {seat.pair_count} pairs rated"

    def _add(self) -> None:
        name = self._name.text().strip()
        if not self._add_button.isEnabled():
            return
        if not name:
            self.problem_raised.emit(
                DesignError("Write a name or initials first.", "No seat was added.")
            )
            self._name.setFocus(Qt.FocusReason.OtherFocusReason)
            return
        self._add_button.setEnabled(False)
        database.ask(
            self,
            lambda: LeadDesk(self._study).seat(name),
            lambda _session_id: self._tell_added(name),
            self.problem_raised.emit,
            lambda: self._add_button.setEnabled(True),
        )

    def _tell_added(self, name: str) -> None:
        if self._name.text().strip() == name:
            self._name.clear()
        self.seat_added.emit()


def _is_in(seat: SessionSeat) -> bool:
    return seat.locked_count == seat.pair_count


def _counts(seats: Sequence[SessionSeat]) -> tuple[int, int]:
    """Count those who are through and those who have not begun."""
    return sum(map(_is_in, seats)), sum(not seat.is_begun for seat in seats)
