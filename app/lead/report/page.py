"""The report page: what page one will say, the lead's own words, and where it is written."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QPlainTextEdit, QWidget

from app.lead.report.presenter import ReportPresenter
from app.parts.asking import Question
from app.parts.buttons import OnceButton, PrimaryButton, QuietButton
from app.parts.file_asking import ask_folder
from app.parts.fonts import font
from app.parts.headings import FindingHeading, PlainLine, QuestionPanel, SoftLine, plain_label
from app.parts.layouts import PAGE_MARGINS, Air, Stretched, in_column, in_row
from app.parts.sheet import SheetScroll
from app.parts.thin_bar import ThinBar
from ratings.study.study_settings import Place
from ratings.study.wording import remaining_words

_LEAST_LINES, _EDGES_PX = 3, 34
_QUESTIONS: dict[Place, str] = {
    "summary": "Summary: what was found?",
    "recommendation": "Recommendation: what should be done?",
}
_FILES = (
    "The report as PDF and as HTML: one text in two forms; the HTML is one file that needs no "
    "other.\nThe scores and the measurements as tables, CSV and Parquet."
)


#: Asks for a folder by a title and where to begin; None when the person changed their mind.
AskFolder = Callable[[QWidget, str, Path | None], Path | None]


class WordsPanel(QuestionPanel):
    """One place of page one to edit."""

    def __init__(self, presenter: ReportPresenter, place: Place) -> None:
        self.restore = QuietButton("Program's words again")
        super().__init__(_QUESTIONS[place], beside=self.restore)
        self._presenter, self._place = presenter, place
        self.editor = QPlainTextEdit()
        self.editor.setAccessibleName(place)
        self.editor.setTabChangesFocus(True)
        self.mark = plain_label("", "small", "soft")
        self.body.addWidget(self.editor)
        self.body.addWidget(self.mark)
        self.editor.textChanged.connect(self._take)
        # The page scrolls, not the editor.
        self.editor.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.editor.document().documentLayout().documentSizeChanged.connect(self._fit)
        self._fit()
        self.editor.installEventFilter(self)
        self.restore.clicked.connect(self._exchange)

    def show_results(self) -> None:
        """Show the words, unless they stand there already."""
        words = self._presenter.words(self._place)
        if self.editor.toPlainText() != words:
            self.editor.blockSignals(True)  # Qt's signature
            self.editor.setPlainText(words)
            self.editor.blockSignals(False)  # Qt's signature
        self.editor.setReadOnly(not self._presenter.can_write)
        is_leads = self._presenter.is_leads(self._place)
        self.mark.setText(self._presenter.mark(self._place))
        can_take_back = self._presenter.can_take_back(self._place)
        self.restore.setText("My words again" if can_take_back else "Program's words again")
        self.restore.setVisible(is_leads or can_take_back)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keep what was typed when the keys go elsewhere."""
        if watched is self.editor and event.type() == QEvent.Type.FocusOut:
            self._presenter.keep_typed()
        return super().eventFilter(watched, event)

    def _fit(self) -> None:
        # A plain text's document counts its height in lines.
        lines = max(round(self.editor.document().size().height()), _LEAST_LINES)
        self.editor.setFixedHeight(self.editor.fontMetrics().lineSpacing() * lines + _EDGES_PX)

    def _exchange(self) -> None:
        if self._presenter.can_take_back(self._place):
            self._presenter.take_back(self._place)
        else:
            self._presenter.restore(self._place)

    def _take(self) -> None:
        self._presenter.write(self._place, self.editor.toPlainText())


class ReportPage(QWidget):
    """Shows what the presenter holds and passes words and wishes back to it."""

    def __init__(
        self,
        presenter: ReportPresenter,
        ask_folder: AskFolder = ask_folder,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._presenter, self._ask_folder = presenter, ask_folder
        self._heading = FindingHeading()
        self._line = SoftLine()
        self._line.hold_lines(2)
        self.words = [WordsPanel(presenter, place) for place in _QUESTIONS]
        self._cautions = PlainLine()
        self._written = PlainLine()
        self._missing = PlainLine()
        self._missing.setProperty("look", "attention")
        self.make = PrimaryButton("Write the report")
        self.stop = OnceButton("Stop")
        self.bar = ThinBar("part of the report that is written")
        self._progress = SoftLine()
        self._progress.setFont(font("small"))
        self._build()
        presenter.changed.connect(self.show_results)
        self.make.clicked.connect(self._ask_place)
        self.stop.clicked.connect(presenter.work.cancel)
        self.show_results()

    def showEvent(self, event: QShowEvent) -> None:
        """Keep page one up to date while it is in sight."""
        super().showEvent(event)
        self._presenter.reading.begin_looking(self)

    def hideEvent(self, event: QHideEvent) -> None:
        """Keep what was typed."""
        super().hideEvent(event)
        self._presenter.keep_typed()
        self._presenter.reading.end_looking(self)

    def show_results(self) -> None:
        """Show page one and the state as they are now."""
        presenter = self._presenter
        self._heading.setText(presenter.heading())
        self._line.setText(presenter.standing_line())
        for panel in self.words:
            panel.setVisible(presenter.verdict is not None)
            panel.show_results()
        self._known.setVisible(bool(presenter.cautions()))
        self._cautions.setText("\n".join(f"! {each}" for each in presenter.cautions()))
        self._written.setText(presenter.written_words())
        self._written.setVisible(bool(presenter.written))
        self._missing.setText(presenter.missing_words())
        self._missing.setVisible(bool(self._missing.text()))
        self.make.setEnabled(presenter.can_make)
        state = presenter.work.state
        for part in (self.stop, self.bar, self._progress):
            part.setVisible(state is not None)
        if state is not None:
            left = remaining_words(state.seconds_left)
            self._progress.setText(f"{state.words}, {left}" if left else state.words)
            self.bar.show_part(state.part)
            self.stop.setEnabled(not state.is_stopping)

    def _build(self) -> None:
        self._known = QuestionPanel("What must be known before it?")
        self._known.body.addWidget(self._cautions)
        files = QuestionPanel("What is written into the folder?")
        files.body.addWidget(PlainLine(_FILES))
        files.body.addWidget(self._written)
        self.sheet = SheetScroll(
            in_column(
                *self.words,
                self._known,
                files,
                Air(share=1),
                gap_px=16,
                margins_px=(0, 0, 6, 0),
            )
        )
        in_column(
            plain_label("Page one of the report is headed", "small", "soft"),
            self._heading,
            self._line,
            Stretched(self.sheet),
            self._missing,
            in_row(
                self.make,
                Stretched(in_column(self._progress, self.bar, gap_px=4)),
                self.stop,
                gap_px=16,
            ),
            of=self,
            gap_px=8,
            margins_px=PAGE_MARGINS,
        )

    def _ask_place(self) -> None:
        beside = self._presenter.study.folder.path.absolute().parent
        folder = self._ask_folder(self, "Write the report into a folder", beside)
        if folder is None:
            return
        replaced = self._presenter.replaced_words(folder)
        if not replaced:
            self._presenter.make(folder)
            return
        question = Question(self, "Replace the report?", replaced, "Replace", "Keep")
        question.accepted.connect(lambda: self._presenter.make(folder))
        question.open()
