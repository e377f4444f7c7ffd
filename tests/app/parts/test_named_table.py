from PySide6.QtCore import QPoint, Qt

from app.parts.named_table import NamedTable, NamedTableModel

HEADINGS = ("figure", *(f"set {number}" for number in range(12)))
ROWS = [(f"band {row}", *(f"{row}.{number} dB" for number in range(12))) for row in range(5)]


def open_table(qtbot):
    model = NamedTableModel()
    table = NamedTable(model, "figures of the sets", side_px=8)
    table.named = model
    qtbot.addWidget(table)
    model.show_rows(HEADINGS, ROWS)
    table.resize(400, 300)
    table.show()
    return table


def test_that_names_stay_in_sight_when_the_table_is_scrolled(qtbot, light):
    table = open_table(qtbot)
    names = table.verticalHeader()
    bar = table.horizontalScrollBar()
    assert bar.maximum() > 0
    bar.setValue(bar.maximum())
    assert table.columnViewportPosition(0) < 0
    assert names.isVisible()
    assert names.mapTo(table, QPoint(0, 0)).x() >= 0
    shown = [table.named.headerData(row, Qt.Orientation.Vertical) for row in range(5)]
    assert shown == [row[0] for row in ROWS]
    metrics = names.fontMetrics()
    assert names.width() > max(metrics.horizontalAdvance(words) for words in shown)


def test_that_the_model_keeps_the_rules_of_models(qtbot, qtmodeltester, light):
    table = open_table(qtbot)
    qtmodeltester.check(table.named)


def test_that_the_copy_holds_names_and_headings_in_one_line_each(qtbot, light):
    table = open_table(qtbot)
    table.named.show_rows(("evaluator", "repeat\nerror"), [("E1", "0.5"), ("E2", "–")])
    assert table.named.as_text() == "evaluator\trepeat error\nE1\t0.5\nE2\t–\n"
