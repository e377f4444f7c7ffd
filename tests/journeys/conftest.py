"""The whole program in one window, with a captured sound card and settings of its own."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from captured_card import PacedCard, alsa_configuration
from PySide6.QtCore import QSettings
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QWidget

from app import opening, window
from app.lead import room
from app.parts.theme import apply_theme
from app.settings import Settings


@pytest.fixture
def card(tmp_path: Path, monkeypatch) -> Iterator[PacedCard]:
    folder = tmp_path / "card"
    folder.mkdir()
    paced = PacedCard(folder, buffer_bytes=65536)
    configuration = alsa_configuration(folder, {"paced": paced.fifo})
    monkeypatch.setenv("ALSA_CONFIG_PATH", str(configuration))
    yield paced
    paced.close()


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    made = Settings(QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat))
    made.device_name = "paced"
    return made


@pytest.fixture
def open_window(
    qtbot, qapp, tmp_path: Path, monkeypatch, settings
) -> Iterator[Callable[[], window.MainWindow]]:
    monkeypatch.setattr(opening, "studies_folder", lambda: tmp_path / "studies")
    for place in (window, room):
        monkeypatch.setattr(place, "studies_folder", lambda: tmp_path / "studies")
    apply_theme(qapp, "light")
    made = []

    def start() -> window.MainWindow:
        shown = window.MainWindow(settings)
        made.append(shown)
        shown.show()
        qtbot.waitExposed(shown)
        shown.activateWindow()
        return shown

    yield start
    for shown in made:
        shown.close()


class Hands:
    """What a person does to a window: looks for words, clicks, types."""

    def __init__(self, qtbot, shown: QWidget) -> None:
        self.qtbot = qtbot
        self.window = shown

    def sees(self, kind: type[QWidget]) -> list[QWidget]:
        return [widget for widget in self.window.findChildren(kind) if widget.isVisible()]

    def button(self, words: str) -> QAbstractButton:
        def found() -> list[QAbstractButton]:
            return [
                b
                for b in self.sees(QAbstractButton)
                if words in (b.text(), b.accessibleName()) and b.isEnabled()
            ]

        self.qtbot.waitUntil(lambda: bool(found()), timeout=20000)
        return found()[0]

    def clicks(self, words: str) -> None:
        from PySide6.QtCore import Qt

        QTest.mouseClick(self.button(words), Qt.MouseButton.LeftButton)

    def presses(self, *keys) -> None:
        for key in keys:
            QTest.keyClick(self.window.focusWidget() or self.window, key)

    def words(self) -> str:
        readable = ("text", "accessibleName", "accessibleDescription", "toPlainText")
        return "\n".join(
            str(getattr(widget, what)())
            for widget in self.sees(QWidget)
            for what in readable
            if hasattr(widget, what)
        )


@pytest.fixture
def hands(qtbot) -> Callable[[QWidget], Hands]:
    return lambda shown: Hands(qtbot, shown)
