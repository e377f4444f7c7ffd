"""What the panels that show measurements have in common: choices, saving, a reading below."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSizePolicy, QWidget

from app.lead.recordings.looks.exporting import Exporter
from app.lead.recordings.looks.plot_frame import DrawnCurve
from app.lead.recordings.looks.set_marks import SetMark, set_marks
from app.lead.recordings.presenter import RecordingsPresenter
from app.parts.buttons import QuietButton
from app.parts.file_asking import AskPath, FilePurpose
from app.parts.flow_row import FlowRow
from app.parts.fonts import font
from app.parts.headings import QuestionPanel, SoftLine
from app.parts.theme import current_theme
from ratings.findings.run_curves import Curve
from ratings.reports.measured_table import Table
from ratings.study.file_names import safe_name


class LookPanel(QuestionPanel):
    """A question, a picture that answers it, and ways to take it along.

    A panel sets `picture` to the widget that is saved, and gives `table`.
    """

    def __init__(
        self, presenter: RecordingsPresenter, exporter: Exporter, ask_path: AskPath
    ) -> None:
        super().__init__("")
        self.presenter = presenter
        self._exporter, self._ask_path = exporter, ask_path
        self.picture: QWidget = self
        self.tools = FlowRow()
        self.reading = QLabel()
        self.reading.setTextFormat(Qt.TextFormat.PlainText)
        self.reading.setWordWrap(True)
        self.reading.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.caption = SoftLine("", self)
        self.caption.setFont(font("small"))
        self.body.addWidget(self.tools)

    def show_results(self) -> None:
        """Show what the presenter holds; given by each panel."""
        raise NotImplementedError

    def table(self) -> Table:
        """Return what is shown as a table with a heading row; given by each panel."""
        raise NotImplementedError

    def flatten(self, *, is_flat: bool) -> None:
        """Show all that would scroll inside the panel where the page around it scrolls."""

    def file_words(self) -> str:
        """Say what is shown, for the name of a file."""
        condition = self.presenter.condition
        return "" if condition is None else condition.title

    def marks(self) -> dict[str, SetMark]:
        """Return the marks of all sets in the theme's colours."""
        presenter = self.presenter
        return set_marks(presenter.all_codes, presenter.control, current_theme())

    def drawn(self, curves: tuple[Curve, ...]) -> list[DrawnCurve]:
        """Give the shown sets their marks, the control drawn first, under the others."""
        marks = self.marks()
        shown = self.presenter.shown_curves(curves)
        return [DrawnCurve(marks[c.code], c.x, c.y) for c in shown if c.code in marks]

    def finish(self) -> None:
        """Add saving above the picture and the caption below; called last by each panel."""
        self.save_buttons = (
            QuietButton("PNG"),
            QuietButton("SVG"),
            QuietButton("Table"),
        )
        row = QWidget()
        beside = QHBoxLayout(row)
        beside.setContentsMargins(8, 0, 0, 0)
        beside.setSpacing(6)
        beside.addWidget(QLabel("Save as"))
        saves = (self._save_picture, self._save_drawing, self._save_table)
        for button, save in zip(self.save_buttons, saves, strict=True):
            button.clicked.connect(save)
            button.setAccessibleName(f"Save as {button.text()}")
            beside.addWidget(button)
        self.tools.add(row)
        self.body.addWidget(self.caption)

    def _save_picture(self) -> None:
        path = self._ask_path(self, self._purpose("picture", "png"))
        if path is not None:
            self._exporter.write_picture(self.picture, path)

    def _save_drawing(self) -> None:
        path = self._ask_path(self, self._purpose("drawing", "svg"))
        if path is not None:
            self._exporter.write_drawing(self.picture, path, self.accessibleName())

    def _save_table(self) -> None:
        path = self._ask_path(self, self._purpose("table", "csv"))
        if path is not None:
            self._exporter.write_table(self.table(), path)

    def _purpose(self, kind: str, suffix: str) -> FilePurpose:
        name = safe_name(f"{self.file_words()}, {self.presenter.view}".strip(" ,"))
        return FilePurpose(f"Save the {kind}", kind, suffix, f"{name}.{suffix}", is_saving=True)


def level(value: float | None) -> str:
    """Return a level with one decimal and a true minus sign, or a dash."""
    return "–" if value is None else f"{value:.1f}".replace("-", "−")
