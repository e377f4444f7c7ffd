"""How the recordings of a new study were made: ears, level, headphones, speed; one for all."""

from collections.abc import Callable
from dataclasses import replace
from itertools import zip_longest
from pathlib import Path

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtWidgets import QLabel, QPushButton, QSizePolicy, QWidget

from app.lead.calibration_fields import CalibrationFields
from app.lead.new_study.presenter import NewStudyPresenter
from app.parts.buttons import FileButton, QuietButton
from app.parts.fields import Choice
from app.parts.file_asking import AskPath, FilePurpose, ask_files
from app.parts.headings import QuestionPanel, plain_label
from app.parts.layouts import Air, Aligned, Part, Stretched, in_column, in_row
from app.parts.sheet import PlainScroll
from ratings.intake.how_recorded import SPEED_ENDINGS, HowRecorded
from ratings.intake.known_files import (
    calibration_words,
    equaliser_words,
    says_pascal,
    speed_words,
)

#: Endings without the dot, as dialogs take them.
TRACE_SUFFIXES = tuple(ending.removeprefix(".") for ending in SPEED_ENDINGS)

#: Asks for traces of speed, beginning in a folder; an empty list when none was chosen.
AskTraces = Callable[[QWidget, Path], list[Path]]


def ask_traces(parent: QWidget, folder: Path) -> list[Path]:
    """Ask for traces of speed with the system's dialog."""
    title, kind = "Choose speed traces: CSV, GPX or NMEA", "Speed traces"
    return ask_files(parent, title, kind, TRACE_SUFFIXES, folder)


class RecordedPanel(QuestionPanel):
    """Fields for what holds for all files.

    Signals
    -------
    finished
        Back to the grid.
    """

    finished = Signal()

    def __init__(
        self,
        presenter: NewStudyPresenter,
        ask_path: AskPath,
        ask_traces: AskTraces,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__("", parent)
        self.set_question("How was it recorded? It holds for all files.")
        self._presenter = presenter
        self._ask_path = ask_path
        self._ask_traces = ask_traces
        self._channel_names: tuple[str, ...] = ()
        self.left = Choice("Left ear")
        self.right = Choice("Right ear")
        self.level = CalibrationFields(ask_path)
        self.equaliser = FileButton()
        self.no_equaliser = QuietButton("Remove")
        self.speed = QPushButton()
        self.no_speed = QuietButton("Remove")
        self.done = QPushButton("Done")
        self._ear_words, self._level_words = _soft_line(), _soft_line()
        self._equaliser_words, self._speed_words = _soft_line(), _soft_line()
        self._lay_out()
        self._connect()
        presenter.changed.connect(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Show what was said, and what the files say to it."""
        review = self._presenter.review
        how, files, facts = review.draft.recorded, review.files, review.facts.values()
        self._show_channels(how)
        self.level.show_draft(
            replace(how.calibration, kind="own")
            if how.calibration.kind == "unknown" and says_pascal(facts)
            else how.calibration,
            has_own_unit=says_pascal(facts),
        )
        for line, words in (
            (self._ear_words, self._words_of_ears(how)),
            (self._level_words, calibration_words(how, files, facts)),
            (
                self._equaliser_words,
                equaliser_words(how, files) or "None: clips stay as they were recorded.",
            ),
            (
                self._speed_words,
                speed_words(how, files, review.draft.paths)
                or "Not known. A trace is named like its recording.",
            ),
        ):
            line.setText(words)
            line.setVisible(bool(words))
        chosen = how.equaliser
        self.equaliser.show_words("Choose an equaliser" if chosen is None else chosen.name)
        self.no_equaliser.setVisible(chosen is not None)
        self.speed.setText("Add speed traces")
        self.no_speed.setVisible(bool(how.speeds))

    def stops(self) -> list[QWidget]:
        """Give where Tab leads."""
        level = self.level
        return [
            *(self.left, self.right),
            *level.ways.values(),
            *(level.factor, level.before, level.after, level.tone_db),
            *(self.equaliser, self.no_equaliser, self.speed, self.no_speed, self.done),
        ]

    def _lay_out(self) -> None:
        ears = _column(
            "What do the ears hear?",
            *(plain_label(self.left.accessibleName(), "small", "soft"), self.left),
            *(plain_label(self.right.accessibleName(), "small", "soft"), self.right),
            *(self._ear_words, Air(share=1)),
        )
        level = _column("How is the level known?", self.level, self._level_words, Air(share=1))
        others = _column(
            "What do the headphones need?",
            in_row(Stretched(self.equaliser), self.no_equaliser, gap_px=8),
            *(self._equaliser_words, Air(16), _question("How fast was it?")),
            in_row(Stretched(self.speed), self.no_speed, gap_px=8),
            *(self._speed_words, Air(share=1), Aligned(self.done, Qt.AlignmentFlag.AlignRight)),
        )
        inside = QWidget()
        in_row(
            *(Stretched(ears, 3), Stretched(level, 7), Stretched(others, 4)), of=inside, gap_px=24
        )
        self.body.addWidget(PlainScroll(inside), 1)

    def _connect(self) -> None:
        self.left.activated.connect(lambda channel: self._say(left_channel=channel))
        self.right.activated.connect(lambda channel: self._say(right_channel=channel))
        self.level.changed.connect(lambda calibration: self._say(calibration=calibration))
        self.equaliser.clicked.connect(self._choose_equaliser)
        self.no_equaliser.clicked.connect(lambda: self._say(equaliser=None))
        self.speed.clicked.connect(self._add_speeds)
        self.no_speed.clicked.connect(lambda: self._say(speeds=()))
        self.done.clicked.connect(self.finished)

    def _show_channels(self, how: HowRecorded) -> None:
        names = self._names()
        if names != self._channel_names:
            self._channel_names = names
            for field in (self.left, self.right):
                field.clear()
                field.addItems([self._channel_words(n, name) for n, name in enumerate(names, 1)])
        _show(self.left, how.left_channel)
        _show(self.right, how.right_channel)

    def _names(self) -> tuple[str, ...]:
        """Give a name for every channel of the files, empty where no file gives one."""
        how = self._presenter.draft.recorded
        least = ("",) * (max(how.ears) + 1)
        by_file = [each.channel_names for each in self._presenter.review.facts.values()]
        columns = zip_longest(least, ("", ""), *by_file, fillvalue="")
        return tuple(next((name for name in column if name), "") for column in columns)

    def _channel_words(self, number: int, name: str) -> str:
        words = f"channel {number}"
        return f"{words}, {name}" if name else words

    def _words_of_ears(self, how: HowRecorded) -> str:
        if len(how.ears) == 1:
            return f"Channel {how.left_channel + 1} in both ears."
        if any(facts.channels == 1 for facts in self._presenter.review.facts.values()):
            return "A mono file is heard in both ears."
        return ""

    def _choose_equaliser(self) -> None:
        title, folder = "Choose the headphones' equaliser", self._presenter.last_folder
        path = self._ask_path(self, FilePurpose(title, "", "*", folder=folder))
        if path is not None:
            self._say(equaliser=path.absolute())

    def _add_speeds(self) -> None:
        added = self._ask_traces(self, self._presenter.last_folder)
        if added:
            how = self._presenter.draft.recorded
            self._presenter.change_recorded(how.with_speeds(added))

    def _say(self, **changes: object) -> None:
        how = self._presenter.draft.recorded
        self._presenter.change_recorded(replace(how, **changes))  # type: ignore[arg-type]  # fields


def _show(field: Choice, place: int) -> None:
    with QSignalBlocker(field):
        field.setCurrentIndex(place)


def _column(question: str, *parts: Part) -> QWidget:
    column = QWidget()
    in_column(_question(question), *parts, of=column, gap_px=8)
    # What stands in a column does not move the others.
    column.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
    return column


def _question(words: str) -> QLabel:
    label = plain_label(words, "strong")
    label.setWordWrap(True)
    return label


def _soft_line() -> QLabel:
    line = plain_label("", "small", "soft")
    line.setWordWrap(True)
    return line
