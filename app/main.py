"""Starting Twinset: the desktop program, a command, or a page where there is no display."""

import contextlib
import faulthandler
import importlib.util
import os
import re
import sys
import tempfile
import threading
import traceback
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from app.window import MainWindow

#: Quoted words, paths, and names with the ending of a file that is brought into a study.
_NAMES = re.compile(
    r"""'[^'\n]*'|"[^"\n]*"|\S*[/\\]\S+"""
    r"""|[^:\n]*\.(?:wav|flac|aiff?|mp3|ogg|opus|w64|rf64|caf|mat|mf4|mdf|uff?|unv|h5|hdf5?|csv|txt|gpx)\b""",
    re.IGNORECASE,
)


LONGEST_GOODBYE_MS = 10_000
"""So long the work of a closed window may take to come to its next step."""


def main(arguments: list[str] | None = None) -> int:
    """Run a command when one is named, else the desktop program on a study folder or the sample."""
    words = sys.argv[1:] if arguments is None else arguments
    if words and names_a_command(words[0]):
        from ratings.__main__ import main as run_command

        return run_command(words)
    if importlib.util.find_spec("PySide6") is None:
        sys.stderr.write(
            "The window's packages are not installed: pip install -e '.[desktop]' does it. "
            "The commands work without them; twinset --help lists them.\n"
        )
        return 2
    study = Path(words[0]) if words else None
    if not has_display():
        return write_page_instead(study)
    return run_window(study)


def names_a_command(word: str) -> bool:
    """Tell a command or an option from the folder of a study."""
    if word.startswith("-"):
        return True
    from ratings.__main__ import COMMANDS

    return word in COMMANDS


def has_display() -> bool:
    """Tell whether a window can be shown here."""
    if not sys.platform.startswith("linux") or os.environ.get("QT_QPA_PLATFORM"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def write_page_instead(study: Path | None) -> int:
    """Write the agreement page of a study as a file, and say where."""
    from app.opening import SAMPLE
    from ratings.errors import RatingsError
    from ratings.reports.agreement_page import write_agreement_page

    destination = Path.cwd() / "agreement.html"
    try:
        page = write_agreement_page(SAMPLE if study is None else study, destination)
    except RatingsError as problem:
        sys.stderr.write(f"{problem}\n")
        return 2
    which = "the sample study" if study is None else study.name
    sys.stdout.write(
        "There is no display here, so no window can be shown.\n"
        f"The agreement page of {which} is in {page}; open it in any browser.\n"
    )
    return 0


def run_window(study: Path | None) -> int:
    """Show the window and run until it is closed."""
    from PySide6.QtCore import QThreadPool, QTimer
    from PySide6.QtWidgets import QApplication

    from app.background.database import line
    from app.parts.theme import apply_theme
    from app.parts.waiting_note import WaitingNote
    from app.settings import Settings
    from app.window import MainWindow

    application = QApplication(sys.argv[:1])
    application.setApplicationName("Twinset")
    application.setOrganizationName("Twinset")
    settings = Settings()
    apply_theme(application, settings.theme_mode)
    window = MainWindow(settings)
    line().waiting_changed.connect(WaitingNote(window).show_waiting)
    log = hook_defects(window)
    with contextlib.suppress(OSError):
        # The handler keeps the file open for as long as the program runs.
        faulthandler.enable(log.open("a", encoding="utf-8"))
    window.show()
    if study is None and settings.last_study:
        # Also when it is not there: never another study in its place without a word.
        study = Path(settings.last_study)
    # After the first paint: what opening needs takes longer to import than the window to show.
    QTimer.singleShot(0, lambda: window.open(study))
    code = application.exec()
    # What was given is written first.
    pools = (line().pool, QThreadPool.globalInstance())
    if not all(pool.waitForDone(LONGEST_GOODBYE_MS) for pool in pools):
        # A thread that waits for a network place would keep the program for ever. What was to be
        # kept is in databases, whole; half-made files are cleared away by the next start.
        os._exit(code)
    return code


def told_defect(defect: BaseException) -> str:
    """Return where a defect happened and what it says, without what only a study's lead may know.

    Names of files and of sets stand in quotes in what libraries and Python say, or as paths: both
    are left out, and no variable's value is written. Causes come first, as Python tells them.
    """
    before = defect.__cause__ or (None if defect.__suppress_context__ else defect.__context__)
    trace = "".join(traceback.format_tb(defect.__traceback__))
    words = _NAMES.sub("...", "".join(traceback.format_exception_only(defect)))
    return f"{told_defect(before) if before else ''}Traceback:\n{trace}{words}\n"


def hook_defects(window: "MainWindow") -> Path:
    """Keep and tell what nobody caught, and return the file it is kept in.

    The program stays open; scores are on the disk.
    """
    from PySide6.QtCore import QStandardPaths, QTimer

    folder = Path(QStandardPaths.writableLocation(QStandardPaths.StandardLocation.AppDataLocation))
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        # A home that cannot be written to must not keep the program from starting.
        folder = Path(tempfile.gettempdir())
    log = folder / "defects.log"

    def keep(_: type[BaseException], defect: BaseException, trace: TracebackType | None) -> None:
        lines = told_defect(defect.with_traceback(trace))
        with contextlib.suppress(OSError), log.open("a", encoding="utf-8") as file:
            file.write(f"{datetime.now(UTC).isoformat()}\n{lines}\n")
        sys.stderr.write(lines)
        QTimer.singleShot(0, window, lambda: window.tell_defect(str(log)))

    sys.excepthook = keep
    threading.excepthook = lambda told: keep(
        told.exc_type, told.exc_value or told.exc_type(), told.exc_traceback
    )
    return log
