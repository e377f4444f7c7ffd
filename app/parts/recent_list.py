"""The studies that were open lately: each a button, and beside it one that removes it."""

from collections.abc import Collection, Sequence
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QPushButton, QSizePolicy, QWidget

from app.parts.headings import SoftLine
from app.parts.icons import IconButton
from app.parts.layouts import clear_layout
from app.parts.plain import plain_tooltip

_COLUMNS = 2
_LEAST_PLACE_PX = 96


class RecentStudy(QPushButton):
    """Names a study and its place; the middle of a long place is left out."""

    def __init__(self, path: Path, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.path = path
        self._is_missing = False
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.setStyleSheet("QPushButton { text-align: left; }")
        self.show_missing(is_missing=False)

    def show_missing(self, *, is_missing: bool) -> None:
        """Say whether the study is not in its place."""
        self._is_missing = is_missing
        self.setAccessibleName(" ".join(self._words()))
        self.setToolTip(plain_tooltip(str(self.path)))
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Say as much as there is room for."""
        super().resizeEvent(event)
        self._fit()

    def _words(self) -> tuple[str, str]:
        name = self.path.name
        said = f"{name}, not found" if self._is_missing else name
        return said, f"in {self.path.parent}"

    def _fit(self) -> None:
        said, place = self._words()
        metrics, middle = self.fontMetrics(), Qt.TextElideMode.ElideMiddle
        room = max(self.width() - 40, 80)
        said = metrics.elidedText(said, middle, room)
        left = room - metrics.horizontalAdvance(f"{said} ")
        # The name and whether it is there come first; the place takes what is left.
        if left >= _LEAST_PLACE_PX:
            said = f"{said} {metrics.elidedText(place, middle, left)}"
        # A button reads one & as a mark of its own.
        self.setText(said.replace("&", "&&"))


class RecentList(QWidget):
    """Shows studies that were open lately; hidden while there is none.

    Signals
    -------
    chosen(Path)
    removed(Path)
        It is not to be listed any more; nothing happens to the study.
    """

    chosen = Signal(object)
    removed = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.buttons: list[RecentStudy] = []
        self.removers: list[IconButton] = []
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(20)
        self._grid.setVerticalSpacing(4)
        self.hide()

    def show_studies(self, paths: Sequence[Path]) -> None:
        """List these studies, the latest first."""
        if [button.path for button in self.buttons] == list(paths):
            return
        had_keys = [place for place, out in enumerate(self.removers) if out.hasFocus()]
        clear_layout(self._grid)
        self.buttons, self.removers = [], []
        self._grid.addWidget(SoftLine("Opened lately"), 0, 0, 1, _COLUMNS)
        for place, path in enumerate(paths):
            row, column = divmod(place, _COLUMNS)
            self._grid.addWidget(self._entry(path), row + 1, column)
        for column in range(_COLUMNS):
            self._grid.setColumnStretch(column, 1)
        self.setVisible(bool(paths))
        if had_keys and self.removers:
            near = min(had_keys[0], len(self.removers) - 1)
            self.removers[near].setFocus(Qt.FocusReason.OtherFocusReason)

    def show_missing(self, missing: Collection[Path]) -> None:
        """Say which of them are not in their place."""
        for button in self.buttons:
            button.show_missing(is_missing=button.path in missing)

    def _entry(self, path: Path) -> QWidget:
        entry = QWidget()
        button = RecentStudy(path)
        button.clicked.connect(lambda: self.chosen.emit(path))
        words = f"remove {path.name} from this list"
        out = IconButton("close", words, entry)
        out.clicked.connect(lambda: self.removed.emit(path))
        self.buttons.append(button)
        self.removers.append(out)
        row = QHBoxLayout(entry)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(4)
        row.addWidget(button, 1)
        row.addWidget(out)
        return entry
