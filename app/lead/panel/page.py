"""The panel page: who has a seat, how far each has got, and a seat for one more."""

from PySide6.QtCore import QPointF, QSize, Qt
from PySide6.QtGui import QColor, QHideEvent, QPainter, QPaintEvent, QPen, QShowEvent
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QSizePolicy,
    QWidget,
)

from app.lead.panel.exposure import HEADINGS, RULES, PanelExposure
from app.lead.panel.presenter import PanelPresenter, PanelRow
from app.parts.fonts import FontRole, font
from app.parts.headings import FindingHeading, PlainLine, QuestionPanel, SoftLine, plain_label
from app.parts.layouts import PAGE_MARGINS, Air, Stretched, clear_layout, in_column, in_row
from app.parts.sheet import SheetScroll
from app.parts.theme import current_theme

_ROW_PX = 36
_EXPOSURE_ROW_PX = 32
_HALF = len(HEADINGS) // 2
_STEP = 14.0


class PanelPage(QWidget):
    """Shows what the presenter says of the panel, and takes the name of one more."""

    def __init__(self, presenter: PanelPresenter, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._presenter = presenter
        self._heading = FindingHeading()
        self._line = SoftLine()
        self._exposure = ExposurePanel()
        self._rows = QGridLayout()
        self._rows.setHorizontalSpacing(20)
        self._rows.setVerticalSpacing(4)
        self._rows.setColumnStretch(3, 1)
        self._build()
        presenter.seats_changed.connect(self._show_seats)
        presenter.exposure_changed.connect(self._show_exposure)
        presenter.adding_changed.connect(self._show_adding)
        self._show_seats()
        self._show_exposure()
        self._show_adding()

    def showEvent(self, event: QShowEvent) -> None:
        """Keep the figures of what was played up to date while they are in sight."""
        super().showEvent(event)
        self._presenter.poll.start()

    def hideEvent(self, event: QHideEvent) -> None:
        """Rest while nobody looks."""
        self._presenter.poll.stop()
        super().hideEvent(event)

    def _show_seats(self) -> None:
        clear_layout(self._rows)
        self._heading.setText(self._presenter.heading())
        for place, row in enumerate(self._presenter.rows()):
            self._add_row(place, row)

    def _add_row(self, place: int, row: PanelRow) -> None:
        code = plain_label(row.code, "strong")
        code.setMinimumHeight(_ROW_PX)
        state = plain_label(row.words, look="done" if row.is_in else "soft")
        self._rows.addWidget(code, place, 0)
        self._rows.addWidget(plain_label(row.name), place, 1)
        if row.pairs is not None:
            self._rows.addWidget(ProgressPosts(*row.pairs), place, 2)
        self._rows.addWidget(state, place, 3)

    def _show_exposure(self) -> None:
        self._line.setText(self._presenter.line())
        if self._presenter.exposure is not None:
            self._exposure.show_exposure(self._presenter.exposure)

    def _show_adding(self) -> None:
        self._name.setText(self._presenter.written)
        self._add_button.setEnabled(self._presenter.can_add)

    def _build(self) -> None:
        seats = QuestionPanel("Who has got how far?")
        seats.body.addLayout(self._rows)
        another = QuestionPanel("Is somebody missing?")
        another.body.addLayout(self._build_new_seat())
        panels = in_column(seats, another, self._exposure, Air(share=1), gap_px=16)
        in_column(
            self._heading,
            self._line,
            Air(8),
            Stretched(SheetScroll(panels)),
            of=self,
            gap_px=8,
            margins_px=PAGE_MARGINS,
        )

    def _build_new_seat(self) -> QHBoxLayout:
        self._name = QLineEdit()
        self._name.setPlaceholderText("name or initials")
        self._name.setAccessibleName("name or initials of a new evaluator")
        self._name.setMaximumWidth(320)
        self._name.setEnabled(self._presenter.can_add)
        self._name.textChanged.connect(self._write)
        self._name.returnPressed.connect(self._add)
        self._add_button = QPushButton("Add a seat")
        self._add_button.clicked.connect(self._add)
        return in_row(Stretched(self._name), self._add_button, Air(share=1), gap_px=12)

    def _write(self, name: str) -> None:
        self._presenter.written = name

    def _add(self) -> None:
        if not self._name.text().strip():
            self._name.setFocus(Qt.FocusReason.OtherFocusReason)
        self._presenter.add()


class ExposurePanel(QuestionPanel):
    """The finding, a line of figures for each evaluator, and the rules that they stand on."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("How much sound has each been played?", parent)
        self._shown: PanelExposure | None = None
        self._finding = PlainLine()
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(12)
        self._grid.setVerticalSpacing(2)
        for column in range(1, len(HEADINGS) + 1):
            self._grid.setColumnStretch(column, 1)
        rules = SoftLine(RULES)
        rules.setFont(font("small"))
        self.body.addWidget(self._finding)
        self.body.addLayout(self._grid)
        self.body.addWidget(rules)

    def show_exposure(self, exposure: PanelExposure) -> None:
        """Show these figures, unless they are shown already."""
        if exposure == self._shown:
            return
        self._shown = exposure
        self._finding.setText(exposure.finding)
        clear_layout(self._grid)
        if exposure.rows:
            self._add_headings()
        for line, row in enumerate(exposure.rows, start=2):
            self._add(line, 0, row.evaluator, "strong").setMinimumHeight(_EXPOSURE_ROW_PX)
            for column, cell in enumerate(row.cells, start=1):
                label = self._add(line, column, cell, "body")
                if row.is_over:
                    label.setProperty("look", "attention")

    def _add_headings(self) -> None:
        self._add(0, 1, "today", "strong", _HALF)
        self._add(0, _HALF + 1, "last 7 days", "strong", _HALF)
        for column, heading in enumerate(HEADINGS, start=1):
            self._add(1, column, heading, "small").setProperty("look", "soft")

    def _add(self, line: int, column: int, text: str, role: FontRole, span: int = 1) -> QLabel:
        label = plain_label(text, role)
        self._grid.addWidget(label, line, column, 1, span)
        return label


class ProgressPosts(QWidget):
    """Filled posts for rated pairs, open ones for those to come."""

    def __init__(self, done: int, count: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._done, self._count = done, count
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(f"{done} of {count} pairs rated")

    def sizeHint(self) -> QSize:
        """One step for each post."""
        return QSize(round(self._count * _STEP), 24)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  # Qt's signature
        """Draw the posts, closer together when there is little room."""
        theme = current_theme()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        step = min(_STEP, self.width() / max(self._count, 1))
        half = min(4.0, step / 3)
        for post in range(self._count):
            is_done = post < self._done
            colour = QColor(theme.done if is_done else theme.rail)
            painter.setPen(QPen(colour, 1.5))
            painter.setBrush(colour if is_done else Qt.BrushStyle.NoBrush)
            painter.drawEllipse(QPointF((post + 0.5) * step, self.height() / 2), half, half)
        painter.end()
