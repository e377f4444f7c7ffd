"""A plot written as a picture, a drawing or a table."""

import csv
from pathlib import Path

from PySide6.QtCore import QObject, QPoint, QSize, Signal
from PySide6.QtGui import QPainter, QPixmap
from PySide6.QtWidgets import QWidget

from ratings.errors import StudyError, reason_of
from ratings.reports.measured_table import Table
from ratings.study.formula_cells import marked

#: Pictures are drawn larger than on the screen, so that they bear being printed.
_PICTURE_SCALE = 2


class Exporter(QObject):
    """Writes what a panel shows.

    Signals
    -------
    told(str)
        What was written, in one sentence.
    problem_raised(RatingsError)
    """

    told = Signal(str)
    problem_raised = Signal(object)  # RatingsError

    def write_picture(self, widget: QWidget, path: Path) -> None:
        """Write a widget as PNG."""
        pixmap = QPixmap(widget.size() * _PICTURE_SCALE)
        pixmap.setDevicePixelRatio(_PICTURE_SCALE)
        widget.render(pixmap)
        if pixmap.save(str(path), "PNG"):
            self._tell(path)
        else:
            self._refuse(path, "the place cannot be written to")

    def write_drawing(self, widget: QWidget, path: Path, title: str) -> None:
        """Write a widget as SVG, in lines that stay sharp at any size."""
        from PySide6.QtSvg import QSvgGenerator

        try:
            # The generator would fail without a reason.
            path.touch()
        except OSError as problem:
            self._refuse(path, reason_of(problem))
            return
        generator = QSvgGenerator()
        generator.setFileName(str(path))
        generator.setSize(QSize(widget.width(), widget.height()))
        generator.setViewBox(widget.rect())
        generator.setTitle(title)
        painter = QPainter(generator)
        widget.render(painter, QPoint())
        painter.end()
        self._tell(path)

    def write_table(self, table: Table, path: Path) -> None:
        """Write a table as CSV; text that a spreadsheet would run is marked as text."""
        try:
            with path.open("w", newline="", encoding="utf-8") as file:
                csv.writer(file).writerows([[_cell(cell) for cell in row] for row in table])
        except OSError as problem:
            self._refuse(path, reason_of(problem))
            return
        self._tell(path)

    def _tell(self, path: Path) -> None:
        self.told.emit(f"{path.name} has been written.")

    def _refuse(self, path: Path, reason: str) -> None:
        self.problem_raised.emit(
            StudyError(
                f"{path.name} cannot be written: {reason}.",
                "Choose another place; nothing in the study has changed.",
            )
        )


def as_lines(table: Table) -> str:
    """Return a table as text for a spreadsheet, columns separated by tabs."""
    return "\n".join("\t".join(_cell(cell) for cell in row) for row in table) + "\n"


def _cell(text: str) -> str:
    """Mark what would be a formula; a negative number is none."""
    plain = text.replace("−", "-")
    try:
        float(plain)
    except ValueError:
        return marked(text)
    return plain
