"""The study page: what is in the study, on blind codes."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app.lead.study.copy_panel import CopyPanel
from app.lead.study.copy_saving import CopySaving
from app.parts.fonts import font
from app.parts.headings import FindingHeading, QuestionPanel, SoftLine
from app.parts.sheet import SheetScroll
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.study_folder import Study
from ratings.storage.study_overview import StudyOverview
from ratings.study.wording import counted


class StudyPage(QWidget):
    """Shows vehicle, conditions, codes, attributes, and how the clips were made."""

    def __init__(
        self, study: Study, overview: StudyOverview, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._study = study
        self._overview = overview
        columns = QHBoxLayout()
        columns.setContentsMargins(0, 0, 0, 0)
        columns.setSpacing(16)
        columns.addLayout(self._build_left(), 9)
        session = QuestionPanel("What is a session?")
        for line in self._session_lines():
            session.body.addWidget(_wrapped(line))
        right = QVBoxLayout()
        right.setSpacing(16)
        right.addWidget(self._attributes_panel())
        right.addWidget(session)
        right.addStretch(1)
        columns.addLayout(right, 11)
        column = QVBoxLayout(self)
        column.setContentsMargins(28, 20, 20, 16)
        column.setSpacing(8)
        column.addWidget(FindingHeading(self.heading()))
        column.addWidget(SoftLine(self._standing_line()))
        note = self._said_once(study.facts.note)
        if note:
            column.addWidget(SoftLine(note if note.endswith((".", "!", "?")) else f"{note}."))
        if study.facts.is_invented:
            column.addWidget(self._invented_notice())
        column.addSpacing(8)
        column.addWidget(SheetScroll(columns), 1)

    def heading(self) -> str:
        """Say what the study compares."""
        return (
            f"{len(self._overview.set_codes)} coded sets on the "
            f"{self._said_once(self._study.facts.vehicle)}, in "
            f"{self._conditions_words()}."
        )

    def station_line(self) -> str:
        """Say what is in the study, in a few words."""
        return f"{len(self._overview.set_codes)} sets, {self._conditions_words()}"

    def _conditions_words(self) -> str:
        count = len(self._overview.conditions)
        return "1 condition" if count == 1 else f"{count} conditions"

    def _standing_line(self) -> str:
        facts = self._study.facts
        return (
            f"{self._said_once(facts.name)}. Made {facts.created_at:%Y-%m-%d}. Sets "
            "stay coded; opening the key comes with the verdict, which this version "
            "does not have yet."
        )

    def _said_once(self, text: str) -> str:
        """Leave out what the notice below says of the whole study."""
        if not self._study.facts.is_invented:
            return text
        sentences = text.replace(" (invented)", "").split(". ")
        return ". ".join(s for s in sentences if "invented" not in s.casefold())

    def _invented_notice(self) -> QWidget:
        frame = QFrame()
        frame.setProperty("look", "attention")
        words = _wrapped("Invented data: vehicle, sets, evaluators and scores do not exist.")
        row = QHBoxLayout(frame)
        row.setContentsMargins(16, 8, 16, 8)
        row.addWidget(words)
        return frame

    def _build_left(self) -> QVBoxLayout:
        overview = self._overview
        heard = QuestionPanel("What is heard?")
        heard.body.addWidget(_soft("Sets, under their blind codes"))
        codes = QLabel("   ".join(overview.set_codes))
        codes.setFont(font("name"))
        codes.setAccessibleName(f"blind codes {', '.join(overview.set_codes)}")
        heard.body.addWidget(codes)
        heard.body.addWidget(
            _wrapped(
                f"{LeadDesk(self._study).control_code()} is the control: every other set "
                "is heard against it."
            )
        )
        heard.body.addSpacing(8)
        heard.body.addWidget(_soft("Conditions"))
        for condition in overview.conditions:
            heard.body.addWidget(_wrapped(condition.title))
        heard.body.addStretch(1)
        made = QuestionPanel("How were the clips made?")
        for line in self._clip_lines():
            made.body.addWidget(_wrapped(line))
        made.body.addStretch(1)
        column = QVBoxLayout()
        column.setSpacing(16)
        column.addWidget(heard)
        column.addWidget(made)
        column.addWidget(CopyPanel(CopySaving(self._study, self)))
        column.addStretch(1)
        return column

    def _session_lines(self) -> list[str]:
        seats = session_seats(self._study)
        if not seats:
            return ["Nobody has a seat yet, so no session has been planned."]
        lengths_s: dict[str, list[float]] = {}
        for pair in ListeningDesk(self._study, seats[0].session_id).pairs:
            lengths_s.setdefault(pair.manoeuvre, []).append(pair.clip_a.duration_s)
        driven = {"steady": "at steady speed", "coast-down": "in a coast-down"}
        clips = [f"{_length_words(lengths_s[kind])} {driven[kind]}" for kind in sorted(lengths_s)]
        return [
            (
                f"{counted(seats[0].pair_count, 'pair')} for each evaluator; one null "
                "pair and one repeat are hidden among them."
            ),
            f"Clips last {', '.join(reversed(clips))}.",
        ]

    def _clip_lines(self) -> list[str]:
        overview = self._overview
        lines = [
            (f"{overview.heard_count} recordings are heard; every pair plays copies of its own.")
            if not overview.shares_clips
            else (
                f"{overview.heard_count} recordings are heard. This study is from an "
                "earlier version: all pairs of a condition play the same clip of the "
                "control, and whoever searches the study's file can find it. Make it "
                "again before an important panel."
            ),
            "Calibrated: levels are known in pascal."
            if overview.is_calibrated
            else "Not calibrated: levels are as recorded, and not known in pascal.",
        ]
        lines += [
            f"{count} of {overview.heard_count} recordings: {remark}."
            for remark, count in overview.remarks
        ]
        return lines

    def _attributes_panel(self) -> QWidget:
        scale = self._study.facts.scale
        panel = QuestionPanel("What is rated?")
        panel.body.addWidget(
            _soft(
                f"From {scale.low:g} to {scale.high:g} in steps of {scale.step:g}; "
                f"{scale.high:g} means that there is nothing to hear."
            )
        )
        grid = QGridLayout()
        grid.setHorizontalSpacing(20)
        grid.setVerticalSpacing(10)
        grid.setColumnStretch(1, 1)
        for row, attribute in enumerate(self._study.attributes):
            name = QLabel(attribute.name)
            name.setFont(font("strong"))
            name.setTextFormat(Qt.TextFormat.PlainText)
            card = attribute.card
            if attribute.manoeuvre is not None:
                card += f" (only in a {attribute.manoeuvre})"
            grid.addWidget(name, row, 0, Qt.AlignmentFlag.AlignTop)
            grid.addWidget(_wrapped(card), row, 1)
        panel.body.addLayout(grid)
        panel.body.addStretch(1)
        return panel


def _length_words(lengths_s: list[float]) -> str:
    """Say the length of clips in seconds, as a range where they differ."""
    shortest, longest = f"{round(min(lengths_s), 1):g}", f"{round(max(lengths_s), 1):g}"
    return f"{shortest} s" if shortest == longest else f"{shortest} to {longest} s"


def _wrapped(text: str) -> QLabel:
    label = QLabel(text)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)
    return label


def _soft(text: str) -> QLabel:
    label = _wrapped(text)
    label.setProperty("look", "soft")
    return label
