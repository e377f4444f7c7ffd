"""Pictures for a report: composed aside, light, with everything that a reader needs."""

import pytest
from PySide6.QtCore import QPointF, QSize
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtWidgets import QWidget
from saved_pictures import told_in_drawing

from app.parts.picture import LegendKey, Picture
from app.parts.saving import Exporter, SaveRow
from app.parts.theme import DARK, LIGHT, apply_theme, current_theme, drawing_in

LEAST = QSize(300, 100)
LONG = "Set 417 is 3.4 dB quieter than the control in the cavity line on coarse asphalt. " * 4


class Plot(QWidget):
    """Says in which theme it was painted."""

    def __init__(self, painted, least=LEAST):
        super().__init__()
        self._painted, self._least = painted, least
        self.setMinimumSize(least)

    def paintEvent(self, _event):
        self._painted.append(current_theme())
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(current_theme().accent))
        painter.end()


def picture_of(painted=None, least=LEAST, keys=()):
    return Picture(
        title="How far is each set from the control?",
        sentence=LONG,
        facts=["coarse asphalt, 80 km/h", "mean of the ears", "", "3 runs of each set"],
        keys=[LegendKey(words, draw_square) for words in keys],
        caption="95 % intervals.",
        source="Alder wagon (invented)",
        plot=Plot([] if painted is None else painted, least),
    )


def draw_square(painter, middle):
    painter.fillRect(int(middle.x()) - 4, int(middle.y()) - 4, 8, 8, QColor("#B0303C"))


@pytest.fixture
def dark(qapp):
    apply_theme(qapp, "dark")
    yield
    apply_theme(qapp, "light")


def test_that_a_picture_is_made_and_painted_light_in_a_dark_window(dark, tmp_path):
    painted, made_in = [], []

    def make():
        made_in.append(current_theme())
        return picture_of(painted)

    Exporter().write_picture(make, tmp_path / "x.png")
    Exporter().write_drawing(make, tmp_path / "x.svg")
    assert set(made_in) == set(painted) == {LIGHT}
    assert len(painted) == 2
    assert current_theme() is DARK
    image = QImage(str(tmp_path / "x.png"))
    assert QColor(image.pixel(0, 0)).name().upper() == LIGHT.panel
    middle = {QColor(image.pixel(800, y)).name().upper() for y in range(image.height())}
    assert LIGHT.accent in middle
    assert DARK.accent not in middle


def test_that_the_theme_of_the_window_holds_again_after_a_picture_that_failed(dark):
    with pytest.raises(ZeroDivisionError):
        Exporter().write_picture(lambda: 1 / 0, None)
    assert current_theme() is DARK
    with drawing_in(LIGHT), drawing_in(DARK):
        assert current_theme() is DARK


def test_that_all_words_of_a_drawing_are_text_in_the_order_of_the_page(light, tmp_path):
    Exporter().write_drawing(lambda: picture_of(keys=["417", "862, control"]), tmp_path / "x.svg")
    said = told_in_drawing(tmp_path / "x.svg")
    wanted = [
        "How far is each set from the control?",
        "coarse asphalt, 80 km/h; mean of the ears; 3 runs of each set",
        LONG.strip(),
        "417",
        "862, control",
        "95 % intervals.",
        "Alder wagon (invented). Relates only to the sets tested.",
    ]
    places = [said.rindex(words) for words in wanted]
    assert places == sorted(places)
    # For a reader who cannot see it.
    head = (tmp_path / "x.svg").read_text(encoding="utf-8")
    assert f"<title>{wanted[0]}</title>" in head
    assert "3 runs of each set" in head.partition("<desc>")[2].partition("</desc>")[0]


def test_that_no_word_runs_out_of_the_page_and_a_legend_takes_as_many_rows_as_it_needs(
    light, tmp_path
):
    keys = [f"a set with a long name, number {n}" for n in range(40)]
    for name, shown in (("few", keys[:1]), ("many", keys)):
        Exporter().write_picture(lambda shown=shown: picture_of(keys=shown), tmp_path / name)
    few, many = (QImage(str(tmp_path / name)) for name in ("few", "many"))
    assert few.width() == many.width() == 1600
    assert many.height() > few.height() + 2 * 12 * 24
    paper = QColor(LIGHT.panel).rgb()
    edges = (*range(40), *range(1560, 1600))
    assert all(many.pixel(x, y) == paper for x in edges for y in range(0, many.height(), 3))


def test_that_a_plot_that_needs_more_room_makes_the_page_wider(light, tmp_path):
    Exporter().write_picture(lambda: picture_of(least=QSize(1000, 700)), tmp_path / "x.png")
    image = QImage(str(tmp_path / "x.png"))
    assert image.width() == 2 * (1000 + 48)
    blue = QColor(LIGHT.accent).rgb()
    assert sum(image.pixel(1000, y) == blue for y in range(image.height())) == 1400


def test_that_the_buttons_that_save_keep_their_size_in_a_wide_panel(qtbot, light):
    row = SaveRow(Exporter(), lambda *_: None, picture_of, lambda: [[]], lambda: "x")
    qtbot.addWidget(row)
    row.resize(1200, 44)
    with qtbot.waitExposed(row):
        row.show()
    assert [each.width() for each in row.buttons] == [
        each.sizeHint().width() for each in row.buttons
    ]
    assert row.buttons[0].x() < 200


def test_that_a_drawing_of_a_key_does_not_change_how_the_next_word_is_written(light, tmp_path):
    def spoil(painter, middle):
        painter.translate(QPointF(500, 500))
        painter.setOpacity(0.0)

    def make():
        made = picture_of()
        keys = [LegendKey("417", spoil), LegendKey("862", draw_square)]
        return Picture(made.title, "", made.facts, keys, "", "", made.plot)

    Exporter().write_picture(make, tmp_path / "x.png")
    image = QImage(str(tmp_path / "x.png"))
    red = QColor("#B0303C").rgb()
    assert any(image.pixel(x, y) == red for x in range(400) for y in range(image.height()))
