"""A table of words whose row names stay in sight, however far it is scrolled to the side."""

from collections.abc import Sequence

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, QSize, Qt
from PySide6.QtGui import QGuiApplication, QKeyEvent, QKeySequence, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QSizePolicy, QTableView, QWidget

from app.parts.fonts import font
from app.parts.style_sheet import style_sheet
from app.parts.theme import Theme

Index = QModelIndex | QPersistentModelIndex
_ROOT = QModelIndex()
# Lines between rows instead of a box; the frame shows only where the keys are.
_LOOK = """
QTableView {{ border: 2px solid transparent; background: transparent; }}
QTableView:focus {{ border-color: palette(highlight); }}
QTableView::item {{ padding: 0 {side}px; border-bottom: 1px solid palette(midlight); }}
QHeaderView::section:vertical {{ color: palette(text); padding: 0 12px 0 4px; }}
"""


class NamedTableModel(QAbstractTableModel):
    """Rows of words, each with a name; what one cell looks like is for a kind of its own."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._headings: tuple[str, ...] = ()
        self._rows: tuple[tuple[str, ...], ...] = ()

    def show_rows(self, headings: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
        """Show a table in place of the one before.

        Parameters
        ----------
        headings
            One for the names, then one for each column.
        rows
            The name, then a word for each column.
        """
        shown = tuple(headings), tuple(tuple(row) for row in rows)
        if shown == (self._headings, self._rows):
            return
        self.beginResetModel()
        self._headings, self._rows = shown
        self.endResetModel()

    def as_text(self) -> str:
        """Return the table as a spreadsheet takes it, columns separated by tabs."""
        headings = tuple(heading.replace("\n", " ") for heading in self._headings)
        return "\n".join("\t".join(row) for row in (headings, *self._rows)) + "\n"

    def rowCount(self, parent: Index = _ROOT) -> int:
        """Count the rows."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = _ROOT) -> int:
        """Count the columns beside the names."""
        return 0 if parent.isValid() else max(len(self._headings) - 1, 0)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Name the columns and the rows."""
        is_top = orientation == Qt.Orientation.Horizontal
        if role == Qt.ItemDataRole.DisplayRole:
            return self._headings[section + 1] if is_top else self._rows[section][0]
        if role == Qt.ItemDataRole.FontRole and not is_top:
            return font("strong")
        if role == Qt.ItemDataRole.TextAlignmentRole:
            high = Qt.AlignmentFlag.AlignBottom if is_top else Qt.AlignmentFlag.AlignVCenter
            return Qt.AlignmentFlag.AlignLeft | high
        return None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Give the words of a cell and how they look."""
        if not index.isValid():
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return self._rows[index.row()][index.column() + 1]
        if role == Qt.ItemDataRole.FontRole:
            return font("body")
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        return None


class NamedTable(QTableView):
    """Shows such a table; Ctrl+C copies all of it."""

    def __init__(
        self,
        model: NamedTableModel,
        about: str,
        side_px: int,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._named, self._side_px = model, side_px
        # Else whichever of the two the interpreter takes away first would leave the other behind.
        model.setParent(self)
        self.setModel(model)
        self.setAccessibleName(about)
        self.setAccessibleDescription("Ctrl+C copies the table.")
        self.setSelectionMode(QAbstractItemView.SelectionMode.NoSelection)
        self.setTabKeyNavigation(False)
        self.setShowGrid(False)
        self.setCornerButtonEnabled(False)
        self.setStyleSheet(_LOOK.format(side=side_px))
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        # Else the style draws a box between the scroll bars.
        self.setCornerWidget(QWidget(self))
        top, left = self.horizontalHeader(), self.verticalHeader()
        top.setFont(font("small"))
        top.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        for header in (top, left):
            header.setHighlightSections(False)
            header.setSectionsClickable(False)

    def wear(self, theme: Theme) -> None:
        """Keep to the colours of a theme, whatever the window wears."""
        own = _LOOK.format(side=self._side_px)
        for role, colour in (
            ("highlight", theme.accent),
            ("midlight", theme.line),
            ("text", theme.text),
        ):
            own = own.replace(f"palette({role})", colour)
        self.setStyleSheet(style_sheet(theme) + own)

    def copy(self) -> None:
        """Put the table on the clipboard."""
        QGuiApplication.clipboard().setText(self._named.as_text())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Copy on Ctrl+C; leave everything else to the table and the page."""
        if event.matches(QKeySequence.StandardKey.Copy):
            self.copy()
            return
        super().keyPressEvent(event)


class WholeTable(NamedTable):
    """Shows all rows at once: the page scrolls up and down, not the table."""

    def __init__(
        self, model: NamedTableModel, about: str, side_px: int, parent: QWidget | None = None
    ) -> None:
        super().__init__(model, about, side_px, parent)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        model.modelReset.connect(self.updateGeometry)

    def sizeHint(self) -> QSize:
        """Room for all rows, and for a bar below them where the columns need one."""
        rows = sum(self.rowHeight(row) for row in range(self._named.rowCount()))
        top, left = self.horizontalHeader(), self.verticalHeader()
        frame = 2 * self.frameWidth()
        needs_bar = top.length() + left.width() + frame > self.width()
        bar = self.horizontalScrollBar().sizeHint().height() if needs_bar else 0
        return QSize(720, top.sizeHint().height() + rows + bar + frame + 6)

    def minimumSizeHint(self) -> QSize:
        """Say the same: rows are never hidden."""
        return QSize(480, self.sizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Make room for the bar, or take it back."""
        super().resizeEvent(event)
        self.updateGeometry()
