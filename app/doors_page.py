"""The doors: who comes in, to which study."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import (
    QAbstractButton,
    QHBoxLayout,
    QPushButton,
    QSizePolicy,
    QWidget,
)

from app.background.jobs import Step
from app.parts.fields import Choice
from app.parts.fonts import font
from app.parts.headings import FindingHeading, SoftLine
from app.parts.layouts import Air, in_column, in_row
from app.parts.message_bar import MessageBar
from app.parts.recent_list import RecentList
from app.parts.shapes import draw_focus_ring
from app.parts.theme import current_theme
from app.parts.thin_bar import ThinBar
from app.settings import Settings
from app.station import State, Station
from ratings.errors import RatingsError

if TYPE_CHECKING:
    from ratings.storage.blind_study import BlindStudy


class Door(QAbstractButton):
    """One big way in: who, what for, and how things stand there."""

    def __init__(self, station: Station, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.station = station
        self._state_words = ""
        self.setText(station.name)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.set_state_words("")

    def set_state_words(self, words: str) -> None:
        """Say how things stand behind the door."""
        self._state_words = words
        self.setAccessibleName(self.text())
        self.setAccessibleDescription(f"{self.station.purpose} {words}".strip())
        self.update()

    def sizeHint(self) -> QSize:
        """Room for three lines with much air."""
        return QSize(420, 192)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  # Qt's signature
        """Draw the panel and its three texts."""
        theme = current_theme()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect()).adjusted(2, 2, -2, -2)
        raised = self.isEnabled() and (self.underMouse() or self.isDown())
        painter.setPen(QPen(QColor(theme.rail if raised else theme.line), 1))
        painter.setBrush(QColor(theme.panel))
        painter.drawRoundedRect(box, 12, 12)
        inside = box.adjusted(28, 24, -28, -24)
        wrap = Qt.TextFlag.TextWordWrap
        faded = theme.text if self.isEnabled() else theme.soft_text
        painter.setPen(QColor(faded))
        painter.setFont(font("finding"))
        painter.drawText(inside, Qt.AlignmentFlag.AlignTop, self.text())
        painter.setFont(font("body"))
        painter.drawText(
            inside.adjusted(0, 44, 0, 0), Qt.AlignmentFlag.AlignTop | wrap, self.station.purpose
        )
        painter.setPen(QColor(theme.soft_text))
        painter.drawText(inside, Qt.AlignmentFlag.AlignBottom | wrap, self._state_words)
        if self.hasFocus():
            draw_focus_ring(painter, box, 12, theme.text)
        painter.end()


class DoorsPage(QWidget):
    """Shows the open study and lets people in.

    Signals
    -------
    station_asked(Station)
    open_asked, make_asked, sample_asked
    recent_asked(Path), recent_removed(Path)
    theme_chosen(str)
    """

    station_asked = Signal(object)  # Station
    open_asked = Signal()
    make_asked = Signal()
    sample_asked = Signal()
    recent_asked = Signal(object)  # Path
    recent_removed = Signal(object)  # Path
    theme_chosen = Signal(str)

    def __init__(
        self, settings: Settings, stations: Sequence[Station], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._settings = settings
        self.messages = MessageBar()
        self.recent = RecentList()
        self.recent.chosen.connect(self.recent_asked)
        self.recent.removed.connect(self.recent_removed)
        self._heading = FindingHeading()
        self._line = SoftLine()
        self._progress = ThinBar("opening the study")
        self._doors = [Door(station) for station in stations]
        for door in self._doors:
            door.clicked.connect(lambda _=False, door=door: self.station_asked.emit(door.station))
        in_column(
            Air(share=1),
            self._heading,
            self._line,
            self._progress,
            Air(12),
            in_row(*self._doors, gap_px=20),
            Air(12),
            self.messages,
            self.recent,
            Air(share=2),
            self._build_foot(),
            of=self,
            gap_px=12,
            margins_px=(80, 24, 80, 24),
        )
        self.show_no_study()

    def show_no_study(self) -> None:
        """Say what the program is for while no study is open."""
        self._heading.setText("Does the panel agree on which set is quieter?")
        self._line.setText("Open a study, make one of your own, or take the sample.")
        self._progress.hide()
        self._allow(False)

    def tell_waiting(self, name: str) -> None:
        """Say that a study does not answer, and that nobody has to wait for it."""
        self.messages.tell(
            f"{name} does not answer yet.",
            "It may lie on a network place that is away. Other studies can be opened.",
            action="Stop waiting",
        )

    def show_progress(self, step: Step) -> None:
        """Show how far the opening has got."""
        self.messages.clear()
        self._line.setText(f"{step.words} ...")
        self._progress.show_part(step.part)
        self._progress.show()
        self._allow(False)

    def show_study(self, study: BlindStudy, states: Sequence[State]) -> None:
        """Show the open study, and how things stand behind each door."""
        facts = study.facts
        self._heading.setText(facts.name)
        line = f"Vehicle: {facts.vehicle}."
        if facts.is_invented:
            line = (
                "An invented study to try the program on: no such vehicle, maker, tyre or person."
            )
        if study.is_read_only:
            line += " " + "This study can be read but not written."
        self._line.setText(line)
        self._progress.hide()
        self._allow(True)
        for door, state in zip(self._doors, states, strict=True):
            door.set_state_words(state.words)
        self._doors[0].setFocus()

    def tell(self, problem: RatingsError) -> None:
        """Say what could not be done."""
        self.messages.tell(problem.what_happened, problem.what_to_do, "attention")

    def _allow(self, is_open: bool) -> None:
        for door in self._doors:
            door.setEnabled(is_open)
            if not is_open:
                door.set_state_words("")

    def _build_foot(self) -> QHBoxLayout:
        buttons = []
        for words, signal in (
            ("Open a study", self.open_asked),
            ("Make a study", self.make_asked),
            ("Open the sample", self.sample_asked),
        ):
            button = QPushButton(words)
            button.clicked.connect(signal)
            buttons.append(button)
        self._theme = Choice(
            "colours",
            {
                "Colours of the system": "system",
                "Light colours": "light",
                "Dark colours": "dark",
            },
        )
        self._theme.setCurrentIndex(self._theme.findData(self._settings.theme_mode))
        self._theme.activated.connect(
            lambda place: self.theme_chosen.emit(self._theme.itemData(place))
        )
        return in_row(*buttons, Air(share=1), self._theme, gap_px=12)
