"""What is shown, written as a picture, a drawing or a table, and the buttons that ask for it."""

import csv
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from PySide6.QtCore import QByteArray, QObject, QPoint, QRect, Signal
from PySide6.QtGui import QImage, QImageWriter, QPainter
from PySide6.QtWidgets import QHBoxLayout, QLabel, QWidget

from app.parts.buttons import QuietButton
from app.parts.file_asking import AskPath, FilePurpose
from app.parts.picture import Picture, PicturePage
from app.parts.theme import LIGHT, drawing_in
from ratings.errors import StudyError, reason_of
from ratings.study.file_names import safe_name
from ratings.study.formula_cells import marked

Table = Sequence[Sequence[str]]
"""Rows of cells, a heading row first."""

#: Pictures are drawn larger than on the screen, so that they bear being printed.
_PICTURE_SCALE = 2
#: How hard a PNG is pressed: a tenth larger than at its smallest, in two thirds of the time.
_QUICK = 75


class Exporter(QObject):
    """Writes what a panel shows; pictures are light, whatever the window wears.

    Signals
    -------
    told(str)
        What was written, in one sentence.
    problem_raised(RatingsError)
    """

    told = Signal(str)
    problem_raised = Signal(object)  # RatingsError

    def write_picture(self, make: Callable[[], Picture], path: Path) -> None:
        """Write a picture as PNG.

        Parameters
        ----------
        make
            Draws it anew; asked while the light theme holds.
        """
        with _light_page(make) as (page, _):
            image = QImage(page.size * _PICTURE_SCALE, QImage.Format.Format_RGB32)
            image.setDevicePixelRatio(_PICTURE_SCALE)
            painter = QPainter(image)
            page.paint(painter)
            painter.end()
        writer = QImageWriter(str(path), QByteArray(b"png"))
        writer.setQuality(_QUICK)
        if writer.write(image):
            self._tell(path)
        else:
            self._refuse(path, "the place cannot be written to")

    def write_drawing(self, make: Callable[[], Picture], path: Path) -> None:
        """Write a picture as SVG: lines that stay sharp at any size, and text as text."""
        from PySide6.QtSvg import QSvgGenerator

        try:
            # The generator would fail without a reason.
            path.touch()
        except OSError as problem:
            self._refuse(path, reason_of(problem))
            return
        with _light_page(make) as (page, picture):
            generator = QSvgGenerator()
            generator.setFileName(str(path))
            generator.setSize(page.size)
            generator.setViewBox(QRect(QPoint(), page.size))
            generator.setResolution(picture.plot.logicalDpiX())
            generator.setTitle(picture.title)
            generator.setDescription(" ".join([*picture.facts, picture.sentence]))
            painter = QPainter(generator)
            page.paint(painter)
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


class SaveRow(QWidget):
    """Buttons that save what is shown.

    Attributes
    ----------
    buttons
        As picture, as drawing, as table.
    """

    def __init__(
        self,
        exporter: Exporter,
        ask_path: AskPath,
        picture: Callable[[], Picture],
        table: Callable[[], Table],
        name: Callable[[], str],
    ) -> None:
        super().__init__()
        self._exporter, self._ask_path, self._name = exporter, ask_path, name
        self._make, self._table = picture, table
        self.buttons = (QuietButton("PNG"), QuietButton("SVG"), QuietButton("Table"))
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(6)
        row.addWidget(QLabel("Save as"))
        saves = (self._save_picture, self._save_drawing, self._save_table)
        for button, save in zip(self.buttons, saves, strict=True):
            button.clicked.connect(save)
            button.setAccessibleName(f"Save as {button.text()}")
            row.addWidget(button)
        row.addStretch(1)

    def _save_picture(self) -> None:
        path = self._ask("picture", "png")
        if path is not None:
            self._exporter.write_picture(self._make, path)

    def _save_drawing(self) -> None:
        path = self._ask("drawing", "svg")
        if path is not None:
            self._exporter.write_drawing(self._make, path)

    def _save_table(self) -> None:
        path = self._ask("table", "csv")
        if path is not None:
            self._exporter.write_table(self._table(), path)

    def _ask(self, kind: str, suffix: str) -> Path | None:
        suggestion = f"{safe_name(self._name())}.{suffix}"
        purpose = FilePurpose(f"Save the {kind}", kind, suffix, suggestion, is_saving=True)
        return self._ask_path(self, purpose)


def as_lines(table: Table) -> str:
    """Return a table as text for a spreadsheet, columns separated by tabs."""
    return "\n".join("\t".join(_cell(cell) for cell in row) for row in table) + "\n"


@contextmanager
def _light_page(make: Callable[[], Picture]) -> Iterator[tuple[PicturePage, Picture]]:
    """Make a page from a copy that was never on the screen, so that nothing there flickers."""
    with drawing_in(LIGHT):
        picture = make()
        try:
            yield PicturePage(picture), picture
        finally:
            picture.plot.deleteLater()


def _cell(text: str) -> str:
    """Mark what would be a formula; a negative number is none."""
    plain = text.replace("−", "-")
    try:
        float(plain)
    except ValueError:
        return marked(text)
    return plain
