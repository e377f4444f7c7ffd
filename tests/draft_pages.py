"""What is done to the page for a new study, and what answers in place of the system's dialogs."""

from collections.abc import Iterable
from pathlib import Path

from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import QApplication, QPushButton, QWidget

LEFT = Qt.MouseButton.LeftButton


class Dialogs:
    """Answers with files, a folder, one path or traces; remembers where it began."""

    def __init__(self) -> None:
        self.files: list[Path] = []
        self.traces: list[Path] = []
        self.folder: Path | None = None
        self.path: Path | None = None
        self.began_in: list[Path] = []

    def ask_files(self, _parent: QWidget, folder: Path) -> list[Path]:
        self.began_in.append(folder)
        return self.files

    def ask_folder(self, _parent: QWidget, folder: Path) -> Path | None:
        self.began_in.append(folder)
        return self.folder

    def ask_path(self, _parent: QWidget, _purpose: object) -> Path | None:
        return self.path

    def ask_traces(self, _parent: QWidget, _folder: Path) -> list[Path]:
        return self.traces


def button(page: QWidget, words: str, kind: type = QPushButton) -> QWidget:
    return next(b for b in page.findChildren(kind) if b.text() == words and b.isVisible())


def wait_until_read(qtbot, presenter) -> None:
    """Wait until of each file it is known whether it can be used."""
    cells = presenter.draft.files
    qtbot.waitUntil(lambda: all(presenter.review.cell(f.cell).kind != "reading" for f in cells))


def drop(target: QWidget, paths: Iterable[Path]) -> bool:
    """Drag files onto a widget and let go; return whether they were taken."""
    mime = QMimeData()
    mime.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    action, none = Qt.DropAction.CopyAction, Qt.KeyboardModifier.NoModifier
    enter = QDragEnterEvent(QPoint(20, 20), action, mime, LEFT, none)
    QApplication.sendEvent(target, enter)
    QApplication.sendEvent(target, QDropEvent(QPointF(20, 20), action, mime, LEFT, none))
    return enter.isAccepted()
