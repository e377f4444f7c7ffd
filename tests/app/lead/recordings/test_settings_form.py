"""The form of a run's settings, with real keys."""

from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QApplication, QLineEdit, QPushButton, QVBoxLayout, QWidget

from app.lead.recordings.bringing.settings_form import SettingsForm
from ratings.intake.run_draft import CalibrationDraft, FileDraft, SpeedDraft


@pytest.fixture
def page(qtbot, light):
    """A shown form with a field above it and a button below."""
    page = QWidget()
    page.above, page.below = QLineEdit(), QPushButton("Apply")
    page.form = SettingsForm(lambda _parent, _purpose: None)
    column = QVBoxLayout(page)
    for widget in (page.above, page.form, page.below):
        column.addWidget(widget)
    qtbot.addWidget(page)
    with qtbot.waitExposed(page):
        page.show()
    page.activateWindow()
    return page


@pytest.mark.parametrize("channels", [1, 2, 6])
def test_that_tab_follows_the_eye_also_when_channels_come_later(qtbot, page, channels):
    for name in ("a.wav", "b.wav"):
        draft = FileDraft(
            Path(name),
            roles=("not used",) * channels,
            calibration=CalibrationDraft("tones"),
            speed=SpeedDraft("channel"),
        )
        page.form.show_draft(draft, None, None, ("given", "not known"))
        qtbot.wait(1)
    page.above.setFocus()
    stops = [page.above]
    while (qtbot.keyClick(stops[-1], Qt.Key.Key_Tab), QApplication.focusWidget())[1] is not (
        page.above
    ):
        stops.append(QApplication.focusWidget())
    places = [(at.y(), at.x()) for at in (each.mapTo(page, QPoint(0, 0)) for each in stops)]
    # Neighbours of one row may differ by what stands around a field.
    rows = [round(y / 8) for y, _ in places]
    assert rows == sorted(rows)
    assert stops[1 : channels + 1] == page.form.roles
    assert stops[-1] is page.below
