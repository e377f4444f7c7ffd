"""The pin of PySide6: 6.12.0 on Python 3.11 loses references to None and aborts the program."""

import sys

from PySide6.QtWidgets import QWidget


def test_that_asking_a_widget_for_its_parent_does_not_lose_references_to_none(qtbot):
    widget = QWidget()
    qtbot.addWidget(widget)
    before = sys.getrefcount(None)
    for _ in range(1000):
        widget.parent()
    # Other threads may move the count by a few; the defect moves it by the number of calls.
    assert sys.getrefcount(None) > before - 100
