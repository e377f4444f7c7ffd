"""Asking for a file's place: one call, so that a test can answer in its stead."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtWidgets import QFileDialog, QWidget


@dataclass(frozen=True, slots=True)
class FilePurpose:
    """What a file is asked for.

    Attributes
    ----------
    suffix
        Ending of the file's name without the dot.
    suggestion
        Name offered when saving.
    folder
        Where the dialog begins; where the system likes when None.
    """

    title: str
    kind: str
    suffix: str
    suggestion: str = ""
    is_saving: bool = False
    folder: Path | None = None


AskPath = Callable[[QWidget, FilePurpose], Path | None]


def ask_path(parent: QWidget, purpose: FilePurpose) -> Path | None:
    """Let the user choose a file; None when they changed their mind."""
    dialog = QFileDialog(parent, purpose.title)
    dialog.setNameFilter(f"{purpose.kind} (*.{purpose.suffix})")
    dialog.setDefaultSuffix(purpose.suffix)
    if purpose.folder is not None:
        dialog.setDirectory(str(purpose.folder))
    if purpose.is_saving:
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.selectFile(purpose.suggestion)
    else:
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
    if not dialog.exec():
        return None
    return Path(dialog.selectedFiles()[0])
