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

from app.lead.sheet import SheetScroll
from app.parts.fonts import font
from app.parts.headings import FindingHeading, QuestionPanel, SoftLine
from ratings.storage.study_folder import Study
from ratings.storage.study_overview import StudyOverview


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
        right = QVBoxLayout()
        right.addWidget(self._attributes_panel())
        right.addStretch(1)
        columns.addLayout(right, 11)
        column = QVBoxLayout(self)
        column.setContentsMargins(28, 20, 20, 16)
        column.setSpacing(8)
        column.addWidget(FindingHeading(self.heading()))
        column.addWidget(SoftLine(self._standing_line()))
        if study.facts.note:
            column.addWidget(SoftLine(study.facts.note))
        if study.facts.is_invented:
            column.addWidget(self._invented_notice())
        column.addSpacing(8)
        column.addWidget(SheetScroll(columns), 1)

    def heading(self) -> str:
        """Say what the study compares."""
        return self.tr("{0} coded sets on the {1}, in {2}.").format(
            len(self._overview.set_codes), self._study.facts.vehicle, self._conditions_words()
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
        return self.tr("{0}. Made {1}. Sets stay coded until the key is opened.").format(
            facts.name, f"{facts.created_at:%Y-%m-%d}"
        )

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
        column.addStretch(1)
        return column

    def _clip_lines(self) -> list[str]:
        overview, facts = self._overview, self._study.facts
        lines = [
            self.tr("{0} clips; the order of every session follows from the seed {1}.").format(
                overview.clip_count, facts.seed
            ),
            self.tr("Calibrated: levels are known in pascal.")
            if overview.is_calibrated
            else self.tr("Not calibrated: levels are as recorded, and not known in pascal."),
        ]
        lines += [
            self.tr("{0} of {1} clips: {2}.").format(count, overview.clip_count, remark)
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
