"""How soon the first window is seen, against an empty window of Qt on the same machine.

``python tests/benchmarks/bench_start_up.py [--times 5]``; needs a display or Xvfb, else it draws
off the screen and says so.
"""

import argparse
import os
import statistics
import subprocess
import sys
import tempfile

PAINTED = """
import sys, time
from PySide6.QtCore import QEvent, QObject, QSettings
from PySide6.QtWidgets import QApplication, QMainWindow

class Watch(QObject):
    def eventFilter(self, watched, event):
        if event.type() == QEvent.Type.Paint:
            # After this paint has reached the screen.
            application.processEvents()
            print(time.clock_gettime(time.CLOCK_MONOTONIC), flush=True)
            import os
            os._exit(0)
        return False

application = QApplication([])
{window}
watch = Watch()
window.centralWidget().installEventFilter(watch) if window.centralWidget() else None
window.installEventFilter(watch)
window.show()
application.exec()
"""
EMPTY = "window = QMainWindow()"
OURS = """
from app.parts.theme import apply_theme
from app.settings import Settings
from app.window import MainWindow
apply_theme(application, "light")
window = MainWindow(Settings(QSettings("first-paint.ini", QSettings.Format.IniFormat)))
"""


def seconds_to_first_paint(window: str) -> float:
    """Start a fresh interpreter and return the time to its first paint in seconds."""
    import time

    with tempfile.TemporaryDirectory() as folder:
        start = time.clock_gettime(time.CLOCK_MONOTONIC)
        ran = subprocess.run(
            [sys.executable, "-c", PAINTED.format(window=window)],
            capture_output=True,
            text=True,
            check=True,
            cwd=folder,
        )
    return float(ran.stdout.split()[0]) - start


def main() -> None:
    """Measure both in turn and print medians and their ratio."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=5)
    times = parser.parse_args().times
    if not os.environ.get("DISPLAY"):
        os.environ["QT_QPA_PLATFORM"] = "offscreen"
        print("No display: drawn off the screen.")
    seconds_to_first_paint(OURS)
    ours, empty = [], []
    for _ in range(times):
        ours.append(seconds_to_first_paint(OURS))
        empty.append(seconds_to_first_paint(EMPTY))
    print(f"Twinset's first window: median {statistics.median(ours):.3f} s of {times}")
    print(f"an empty QMainWindow:   median {statistics.median(empty):.3f} s of {times}")
    print(f"ratio                   {statistics.median(ours) / statistics.median(empty):.2f}")


if __name__ == "__main__":
    main()
