from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.parts.buttons import PrimaryButton

LEFT = Qt.MouseButton.LeftButton


def test_that_a_double_click_leads_on_once(qtbot, light):
    button = PrimaryButton("Accept as recorded")
    qtbot.addWidget(button)
    button.show()
    taken = []
    button.clicked.connect(lambda: taken.append(1))
    QTest.mouseClick(button, LEFT)
    QTest.mouseDClick(button, LEFT)
    assert len(taken) == 1
    QTest.mouseClick(button, LEFT)
    assert len(taken) == 2
