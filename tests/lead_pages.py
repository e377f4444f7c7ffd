"""What tests of the lead's screen look for and write."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractButton,
    QComboBox,
    QLabel,
    QLineEdit,
    QWidget,
)

LEFT = Qt.MouseButton.LeftButton


def button(screen, words):
    found = [b for b in screen.findChildren(QAbstractButton) if b.text() == words]
    assert len(found) == 1
    return found[0]


def shown_words(screen):
    return [label.text() for label in screen.findChildren(QLabel) if label.isVisible()]


def all_words(widget):
    """Everything that a widget and its children say, seen or spoken."""
    words = []
    for each in [widget, *widget.findChildren(QWidget)]:
        words += [each.accessibleName(), each.accessibleDescription(), each.toolTip()]
        if isinstance(each, QLabel | QAbstractButton | QLineEdit):
            words.append(each.text())
        if isinstance(each, QComboBox):
            words += [each.itemText(n) for n in range(each.count())]
    return words


def bring_in(qtbot, screen):
    """Choose a table to bring in and wait for the question."""
    with qtbot.waitSignal(screen.transfers.offered):
        qtbot.mouseClick(button(screen, "Import scores (CSV)"), LEFT)


def write_scores(path, codes, rows=1, origin="driven"):
    """Write a table of `rows` scores by Q1 on boom, with or without where they were given."""
    lines = ["evaluator,set,condition,attribute,score" + (",origin" if origin else "")]
    where = f",{origin}" if origin else ""
    lines += [f'Q1,{code},"coarse asphalt, 80 km/h",boom,7{where}' for code in codes[:rows]]
    path.write_text("\n".join(lines) + "\n")
    return path


def row_middle(plot, place):
    return plot.row_box(place).center().toPoint()
