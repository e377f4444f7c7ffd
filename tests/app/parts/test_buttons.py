from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QWidget

from app.parts.buttons import FileButton, OnceButton, PrimaryButton

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


def test_that_the_second_press_of_a_double_click_does_not_stop_what_the_first_began(qtbot, light):
    page = QWidget()
    measure, stop = PrimaryButton("Measure 8 runs", page), OnceButton("Stop measuring", page)
    stop.hide()
    done = []
    stop.clicked.connect(lambda: done.append("stop"))

    def begin():
        done.append("begin")
        measure.hide()
        stop.setGeometry(measure.geometry())
        stop.show()

    measure.clicked.connect(begin)
    qtbot.addWidget(page)
    page.show()
    place = measure.geometry().center()
    window = page.windowHandle()
    QTest.mouseDClick(window, LEFT, pos=place)
    assert done == ["begin"]
    assert stop.isVisible()


def test_that_a_long_name_of_a_file_shows_both_its_ends(qtbot, light):
    button = FileButton()
    qtbot.addWidget(button)
    words = "Before: calibrator on the driver's left ear, morning, 94 dB.wav"
    button.show_words(words)
    button.resize(button.minimumSizeHint())
    button.show()
    assert button.sizeHint().width() <= 400
    for width_px in (200, 290):
        button.resize(width_px, button.height())
        start, end = button.text().split("…")
        assert start.startswith("Before")
        assert end.endswith("dB.wav")
    assert button.fontMetrics().horizontalAdvance(button.text()) < 290
    assert "morning" in button.toolTip()
    assert button.accessibleName() == words
    button.resize(600, button.height())
    assert button.text() == words
