"""What the first window imports decides how soon it is seen."""

import subprocess
import sys

import pytest

FIRST_PAINT = """
import sys
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication
from app.parts.theme import apply_theme
from app.settings import Settings
from app.window import MainWindow
application = QApplication([])
apply_theme(application, "light")
window = MainWindow(Settings(QSettings("nowhere.ini", QSettings.Format.IniFormat)))
window.show()
application.processEvents()
window.grab()
print(" ".join(sys.modules))
window.close()
"""

HEAVY = {
    "scipy",
    "pandas",
    "pyqtgraph",
    "sqlalchemy",
    "numpy",
    "soundfile",
    "sounddevice",
    "pyarrow",
    "typst",
}


#: Ends of the names of modules that show or say something of one page.
OF_A_PAGE = ("page", "screen", "presenter")


@pytest.fixture(scope="module")
def imported(tmp_path_factory):
    """Modules that are imported when the first window has been painted."""
    ran = subprocess.run(
        [sys.executable, "-c", FIRST_PAINT],
        capture_output=True,
        text=True,
        check=True,
        cwd=tmp_path_factory.mktemp("first"),
    )
    return set(ran.stdout.split())


def test_that_the_first_window_is_painted_before_anything_heavy_is_imported(imported):
    assert HEAVY & imported == set()


def test_that_no_page_is_imported_before_it_is_shown(imported):
    pages = {name for name in imported if name.startswith("app.") and name.endswith(OF_A_PAGE)}
    assert pages == {"app.doors_page"}


@pytest.mark.slow
def test_that_without_a_display_the_agreement_page_is_written_instead(tmp_path, monkeypatch):
    import os

    surroundings = {
        name: value
        for name, value in os.environ.items()
        if name not in {"DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"}
    }
    ran = subprocess.run(
        [sys.executable, "-m", "app"],
        capture_output=True,
        text=True,
        check=True,
        cwd=tmp_path,
        env=surroundings,
    )
    page = (tmp_path / "agreement.html").read_text(encoding="utf-8")
    assert "There is no display here" in ran.stdout
    assert "Kendall" in page
    assert "Birch" not in page


def test_that_a_command_is_not_taken_for_a_folder(tmp_path):
    ran = subprocess.run(
        [sys.executable, "-m", "app", "agree", "missing.csv"],
        capture_output=True,
        text=True,
        check=False,
        cwd=tmp_path,
    )
    assert ran.returncode == 2
    assert "missing.csv" in ran.stderr
    assert ran.stdout == ""
