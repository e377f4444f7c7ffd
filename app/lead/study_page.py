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

from app.lead.copy_panel import CopyPanel
from app.lead.copy_saving import CopySaving
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
        session = QuestionPanel(self.tr("What is a session?"))
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
        return self.tr("{0} coded sets on the {1}, in {2}.").format(
            len(self._overview.set_codes),
            self._said_once(self._study.facts.vehicle),
            self._conditions_words(),
        )

    def station_line(self) -> str:
        """Say what is in the study, in a few words."""
        return self.tr("{0} sets, {1}").format(
            len(self._overview.set_codes), self._conditions_words()
        )

    def _conditions_words(self) -> str:
        count = len(self._overview.conditions)
        return self.tr("1 condition") if count == 1 else self.tr("{0} conditions").format(count)

    def _standing_line(self) -> str:
        facts = self._study.facts
        return self.tr(
            "{0}. Made {1}. Sets stay coded; opening the key comes with the verdict, which this "
            "version does not have yet."
        ).format(self._said_once(facts.name), f"{facts.created_at:%Y-%m-%d}")

    def _said_once(self, text: str) -> str:
        """Leave out what the notice below says of the whole study."""
        if not self._study.facts.is_invented:
            return text
        sentences = text.replace(self.tr(" (invented)"), "").split(". ")
        return ". ".join(s for s in sentences if self.tr("invented") not in s.casefold())

    def _invented_notice(self) -> QWidget:
        frame = QFrame()
        frame.setProperty("look", "attention")
        words = _wrapped(
            self.tr("Invented data: vehicle, sets, evaluators and scores do not exist.")
        )
        row = QHBoxLayout(frame)
        row.setContentsMargins(16, 8, 16, 8)
        row.addWidget(words)
        return frame

    def _build_left(self) -> QVBoxLayout:
        overview = self._overview
        heard = QuestionPanel(self.tr("What is heard?"))
        heard.body.addWidget(_soft(self.tr("Sets, under their blind codes")))
        codes = QLabel("   ".join(overview.set_codes))
        codes.setFont(font("name"))
        codes.setAccessibleName(self.tr("blind codes {0}").format(", ".join(overview.set_codes)))
        heard.body.addWidget(codes)
        heard.body.addWidget(
            _wrapped(
                self.tr("{0} is the control: every other set is heard against it.").format(
                    LeadDesk(self._study).control_code()
                )
            )
        )
        heard.body.addSpacing(8)
        heard.body.addWidget(_soft(self.tr("Conditions")))
        for condition in overview.conditions:
            heard.body.addWidget(_wrapped(condition.title))
        heard.body.addStretch(1)
        made = QuestionPanel(self.tr("How were the clips made?"))
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
            return [self.tr("Nobody has a seat yet, so no session has been planned.")]
        lengths_s: dict[str, list[float]] = {}
        for pair in ListeningDesk(self._study, seats[0].session_id).pairs:
            lengths_s.setdefault(pair.manoeuvre, []).append(pair.clip_a.duration_s)
        words = {
            "steady": self.tr("{0} at steady speed"),
            "coast-down": self.tr("{0} in a coast-down"),
        }
        clips = [words[kind].format(_length_words(lengths_s[kind])) for kind in sorted(lengths_s)]
        return [
            self.tr(
                "{0} for each evaluator; one null pair and one repeat are hidden among them."
            ).format(counted(seats[0].pair_count, "pair")),
            self.tr("Clips last {0}.").format(", ".join(reversed(clips))),
        ]

    def _clip_lines(self) -> list[str]:
        overview = self._overview
        lines = [
            self.tr("{0} recordings are heard; every pair plays copies of its own.").format(
                overview.heard_count
            )
            if not overview.shares_clips
            else self.tr(
                "{0} recordings are heard. This study is from an earlier version: all pairs of a "
                "condition play the same clip of the control, and whoever searches the study's "
                "file can find it. Make it again before an important panel."
            ).format(overview.heard_count),
            self.tr("Calibrated: levels are known in pascal.")
            if overview.is_calibrated
            else self.tr("Not calibrated: levels are as recorded, and not known in pascal."),
        ]
        lines += [
            self.tr("{0} of {1} recordings: {2}.").format(count, overview.heard_count, remark)
            for remark, count in overview.remarks
        ]
        return lines

    def _attributes_panel(self) -> QWidget:
        scale = self._study.facts.scale
        panel = QuestionPanel(self.tr("What is rated?"))
        panel.body.addWidget(
            _soft(
                self.tr(
                    "From {0} to {1} in steps of {2}; {1} means that there is nothing to hear."
                ).format(f"{scale.low:g}", f"{scale.high:g}", f"{scale.step:g}")
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
                card += self.tr(" (only in a {0})").format(attribute.manoeuvre)
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
