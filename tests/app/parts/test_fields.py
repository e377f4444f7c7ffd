import pytest
from PySide6.QtCore import QRect

from app.parts.fields import NumberField, WholeNumberField


@pytest.mark.parametrize("kind", [NumberField, WholeNumberField])
def test_that_a_figure_does_not_touch_the_edge_of_its_field(qtbot, light, picture, kind):
    field = kind("repeats")
    qtbot.addWidget(field)
    field.setValue(8)
    field.resize(200, field.sizeHint().height())
    shown = picture(field)
    inside = QRect(4, 6, 6, field.height() - 12)
    assert shown.count(light.panel, inside) == inside.width() * inside.height()
    assert shown.row_contrasts(QRect(8, 8, 60, field.height() - 16))[0] >= 4.5
    assert field.accessibleName() == "repeats"
    assert field.height() >= 40
