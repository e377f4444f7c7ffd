"""The window's end of the sound process: starts it, sends orders, hands on its reports."""

import json
import sys
from pathlib import Path

from PySide6.QtCore import QObject, QProcess, Signal

FAREWELL_MS = 2000
KEPT_WORDS = 2000
_ROOT = Path(__file__).resolve().parents[2]
_CHILD = "import sys; sys.path.insert(0, sys.argv[1]); from app.playback.child import run; run()"


def child_command() -> list[str]:
    """Return how the sound process is started: isolated, and of the same tree as the window.

    Neither the folder that the program was started in (-P) nor PYTHONPATH (-E) is looked into,
    where an `app.py` or a `sounddevice.py` may lie, nor another tree that happens to be installed.
    """
    return [sys.executable, "-E", "-P", "-c", _CHILD, str(_ROOT)]


class SoundLink(QObject):
    """One sound process at a time.

    Signals
    -------
    reported
        One report of the process, as a dict with the key "event".
    ended
        The process is gone, or could not be started, without having been asked to go.
    """

    reported = Signal(dict)
    ended = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._process: QProcess | None = None
        self._last_words = ""

    @property
    def is_running(self) -> bool:
        """Whether a process was started and has not ended."""
        return self._process is not None

    @property
    def process_id(self) -> int:
        """Number of the process; 0 when none runs."""
        return self._process.processId() if self._process is not None else 0

    @property
    def last_words(self) -> str:
        """Last line that the process wrote to its error output."""
        lines = self._last_words.strip().splitlines()
        return lines[-1] if lines else ""

    def start(self) -> None:
        """Start a process, unless one runs."""
        if self._process is not None:
            return
        self._last_words = ""
        process = QProcess(self)
        process.readyReadStandardOutput.connect(self._read_reports)
        process.readyReadStandardError.connect(self._read_words)
        process.finished.connect(self._on_finished)
        process.errorOccurred.connect(self._on_error)
        self._process = process
        process.setWorkingDirectory(str(_ROOT / "app" / "playback"))
        program, *arguments = child_command()
        process.start(program, arguments)

    def send(self, do: str, **facts: object) -> None:
        """Send one order; without a process it is dropped."""
        if self._process is not None:
            self._process.write((json.dumps({"do": do, **facts}) + "\n").encode())

    def kill(self) -> None:
        """End a process that may no longer listen; `ended` follows."""
        if self._process is not None:
            self._process.kill()

    def close(self) -> None:
        """Ask the process to go and wait until it is gone."""
        process, self._process = self._process, None
        if process is None:
            return
        process.blockSignals(True)
        process.closeWriteChannel()
        if not process.waitForFinished(FAREWELL_MS):
            process.kill()
            process.waitForFinished(FAREWELL_MS)
        process.deleteLater()

    def _read_reports(self) -> None:
        while self._process is not None and self._process.canReadLine():
            line = bytes(self._process.readLine().data())
            self.reported.emit(json.loads(line))

    def _read_words(self) -> None:
        if self._process is not None:
            words = bytes(self._process.readAllStandardError().data()).decode(errors="replace")
            self._last_words = (self._last_words + words)[-KEPT_WORDS:]

    def _on_error(self, error: QProcess.ProcessError) -> None:
        if error == QProcess.ProcessError.FailedToStart:
            self._on_finished()

    def _on_finished(self) -> None:
        process, self._process = self._process, None
        if process is not None:
            process.deleteLater()
            self.ended.emit()
