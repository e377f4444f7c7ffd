"""Asking for files and folders: calls that a test can answer in the person's stead.

Each dialog begins where it is told to, else in the folder used last, else in the documents: never
in the folder that the program happened to be started in.
"""

from collections.abc import Callable, Collection
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QMimeData, QStandardPaths
from PySide6.QtWidgets import QFileDialog, QWidget

_SOUND_KINDS = (
    *("wav", "flac", "rf64", "w64", "aif", "aiff", "caf", "ogg"),
    *("uff", "unv", "mat", "h5", "hdf5", "mf4"),
)
#: Where something was chosen last, the newest at the end; forgotten when the program ends.
_used: list[Path] = []


@dataclass(frozen=True, slots=True)
class FilePurpose:
    """What a file is asked for.

    Attributes
    ----------
    suffix
        Ending of the file's name without the dot; ``*`` for any.
    suggestion
        Name offered when saving.
    folder
        Where the dialog begins; None for the folder used last, or the documents.
    """

    title: str
    kind: str
    suffix: str
    suggestion: str = ""
    is_saving: bool = False
    folder: Path | None = None


AskPath = Callable[[QWidget, FilePurpose], Path | None]


def first_folder(wanted: Path | None = None) -> Path:
    """Return where a dialog begins: as wanted, or as it was used last, or the documents."""
    documents = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.DocumentsLocation)
    offered = (wanted, *_used[-1:], Path(documents) if documents else None)
    return next((each for each in offered if each is not None and each.is_dir()), Path.home())


def ask_path(parent: QWidget, purpose: FilePurpose) -> Path | None:
    """Let the person choose a file; None when they changed their mind."""
    dialog = QFileDialog(parent, purpose.title, str(first_folder(purpose.folder)))
    if purpose.suffix != "*":
        dialog.setNameFilter(f"{purpose.kind} (*.{purpose.suffix})")
        dialog.setDefaultSuffix(purpose.suffix)
    if purpose.is_saving:
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.selectFile(purpose.suggestion)
    else:
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
    return next(iter(_chosen(dialog)), None)


def ask_files(
    parent: QWidget, title: str, kind: str, suffixes: Collection[str], folder: Path | None = None
) -> list[Path]:
    """Let the person choose files; an empty list when they changed their mind.

    Only names are looked at here: what a file is, its content says when it is read.
    """
    endings = " ".join(f"*.{suffix} *.{suffix.upper()}" for suffix in suffixes)
    dialog = QFileDialog(parent, title, str(first_folder(folder)))
    dialog.setNameFilters([f"{kind} ({endings})", "All files (*)"])
    dialog.setFileMode(QFileDialog.FileMode.ExistingFiles)
    return _chosen(dialog)


def ask_recordings(
    parent: QWidget, folder: Path | None = None, others: Collection[str] = ()
) -> list[Path]:
    """Let the person choose recordings, and files with `others` for an ending."""
    title, kind = "Choose recordings", "Recordings"
    return ask_files(parent, title, kind, (*_SOUND_KINDS, *others), folder)


def ask_folder(parent: QWidget, title: str, folder: Path | None = None) -> Path | None:
    """Let the person choose a folder; None when they changed their mind."""
    dialog = QFileDialog(parent, title, str(first_folder(folder)))
    dialog.setFileMode(QFileDialog.FileMode.Directory)
    dialog.setOption(QFileDialog.Option.ShowDirsOnly)
    return next(iter(_chosen(dialog)), None)


def _chosen(dialog: QFileDialog) -> list[Path]:
    if not dialog.exec():
        return []
    paths = [Path(name) for name in dialog.selectedFiles()]
    is_folder = dialog.fileMode() is QFileDialog.FileMode.Directory
    _used[:] = [path if is_folder else path.parent for path in paths[:1]]
    return paths


def dropped_files(mime: QMimeData) -> list[Path]:
    """Give the files of this machine in what is dragged."""
    return [Path(url.toLocalFile()) for url in mime.urls() if url.isLocalFile()]
