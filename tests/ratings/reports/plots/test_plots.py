"""What all plots of a report have in common, with 1, 4 and 40 sets."""

import itertools
import math
import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from documents import HOSTILE, document_of

from ratings.reports.as_pdf import pdf_of
from ratings.reports.colours import LIGHT
from ratings.reports.document import Plot
from ratings.reports.plots.band_bars import BandDifference, BandSet, band_plots
from ratings.reports.plots.curves import Course, spectrum_plots, speed_plots
from ratings.reports.plots.drawing import SMALL, letters_wide
from ratings.reports.plots.drift import drift_plot
from ratings.reports.plots.forest import ForestAxis, ForestRow, forest_plots
from ratings.reports.plots.radar import RadarSet, radar_plots
from ratings.reports.plots.scatter import FittedLine, NamedPoint, scatter_plot
from ratings.reports.set_marks import set_marks

SHOWN = Plot("A title", condition="coarse, 80 km/h", n="8 evaluators")
ATTRIBUTES = ("Boom", "Rumble on coarse road", "Cavity ring", "Hiss")
#: A drawing 720 wide fills the width of A4; what is higher leaves no room for title and caption.
HIGHEST = 980


def marks_of(count, word="S"):
    codes = ["control", *(f"{word}{place}" for place in range(1, count + 1))]
    return list(set_marks(codes, "control", LIGHT).values())


def forest(count, word="S"):
    rng = np.random.default_rng(count)
    rows = [
        ForestRow(mark.code, value, value - 0.5, value + 0.5, ("+1.0", "clear"), True, group, mark)
        for group in ATTRIBUTES
        for mark in marks_of(count, word)[1:]
        for value in (float(rng.normal()),)
    ]
    return forest_plots(rows, ("points", "panel"), ForestAxis(margin=0.5), SHOWN)


def radar(count, word="S"):
    rng = np.random.default_rng(count)
    sets = [RadarSet(mark, tuple(rng.uniform(2, 9, 4).tolist())) for mark in marks_of(count, word)]
    return radar_plots(ATTRIBUTES, sets, (1, 10), SHOWN)


def bands(count, word="S"):
    sets = [
        BandSet(mark, tuple(BandDifference(f"{low}-{low * 2}", 1.5, 0.5, 2.5) for low in (50, 100)))
        for mark in marks_of(count, word)[1:]
    ]
    return band_plots(sets, SHOWN)


def courses(count, word="S"):
    hz = [100.0, 125.0, 160.0, 200.0]
    return [Course(mark, hz, [50.0, 52.0, 51.0, 49.0]) for mark in marks_of(count, word)]


def spectrum(count, word="S"):
    return spectrum_plots(courses(count, word), "dB", SHOWN)


def speed(count, word="S"):
    return speed_plots(courses(count, word), "dB", SHOWN)


def scatter(count, word="S"):
    rng = np.random.default_rng(count)
    points = [
        NamedPoint(mark, float(rng.normal(60, 3)), float(rng.normal(6, 1)))
        for mark in marks_of(count, word)
    ]
    fit = FittedLine([55, 65], [7, 5], [6, 4], [8, 6])
    return (scatter_plot(points, "level in dB", "score", SHOWN, fit),)


KINDS = (forest, radar, bands, spectrum, speed, scatter)


def elements(plot, name):
    return [each for each in ET.fromstring(plot.svg).iter() if each.tag.endswith(f"}}{name}")]


def words_of(plot):
    return [each.text for each in elements(plot, "text")]


@pytest.mark.parametrize("count", [1, 4, 40])
@pytest.mark.parametrize("kind", KINDS)
def test_that_every_set_is_named_and_every_drawing_fits_on_a_page(kind, count):
    plots = kind(count)
    written = [words for plot in plots for words in words_of(plot)]
    assert {f"S{place}" for place in range(1, count + 1)} <= set(written)
    for plot in plots:
        width, height = map(float, re.search(r'viewBox="0 0 (\S+) (\S+)"', plot.svg).groups())
        assert width == 720
        assert height <= HIGHEST
        places = [float(each.get("y")) for each in elements(plot, "text")]
        assert min(places) >= 0
        assert max(places) <= height


@pytest.mark.parametrize("count", [1, 4, 40])
@pytest.mark.parametrize("kind", KINDS)
def test_that_a_plot_keeps_what_it_relates_to_and_says_what_it_shows(kind, count):
    plots = kind(count)
    for number, plot in enumerate(plots, start=1):
        of = f" ({number} of {len(plots)})" if len(plots) > 1 else ""
        assert plot.title == f"A title{of}"
        assert plot.words_below == "Coarse, 80 km/h, 8 evaluators."
        assert re.search(r"\d", plot.alternative)
    assert kind(count) == plots


@pytest.mark.parametrize("words", HOSTILE)
@pytest.mark.parametrize("kind", KINDS)
def test_that_names_of_any_kind_stay_words_in_a_drawing(kind, words):
    plain, hostile = kind(2), kind(2, words)
    assert [len(elements(plot, "text")) for plot in hostile] == [
        len(elements(plot, "text")) for plot in plain
    ]


def test_that_drawings_with_names_of_any_kind_can_be_set():
    for words in HOSTILE:
        assert pdf_of(document_of(*(plot for kind in KINDS for plot in kind(2, words))))


def test_that_a_point_stands_where_its_value_is_on_an_even_axis():
    rows = [ForestRow("a", -1.0), ForestRow("b", 0.0), ForestRow("c", 1.0)]
    (plot,) = forest_plots(rows, (), ForestAxis(), SHOWN)
    left, middle, right = (float(each.get("cx")) for each in elements(plot, "circle"))
    assert middle - left == pytest.approx(right - middle, abs=0.11)
    assert left < middle < right
    ticks = {each.text: float(each.get("x")) for each in elements(plot, "text")}
    assert [ticks["−1"], ticks["0"], ticks["+1"]] == pytest.approx([left, middle, right], abs=0.11)


def test_that_pages_of_a_forest_share_one_axis():
    ticks = [
        {words.text: words.get("x") for words in elements(plot, "text") if words.text == "+2"}
        for plot in forest(40)
    ]
    assert len(ticks) > 1
    assert len({tuple(each.items()) for each in ticks}) == 1


def test_that_what_is_clear_is_filled_and_what_cannot_be_told_has_no_mark():
    rows = [ForestRow("a", 1.0, is_clear=True), ForestRow("b", 1.0), ForestRow("c", None)]
    (plot,) = forest_plots(rows, (), ForestAxis(), SHOWN)
    filled, opened = (each.get("fill") for each in elements(plot, "circle"))
    assert filled == LIGHT.higher
    assert opened == LIGHT.panel
    assert "c: cannot be told" in plot.alternative


def test_that_sets_are_told_apart_by_mark_and_line_style_too():
    (plot,) = spectrum(3)
    lines = elements(plot, "polyline")
    assert len({each.get("stroke-dasharray") for each in lines}) == 4
    assert len({each.get("stroke") for each in lines}) == 4


def test_that_a_gap_in_a_course_is_not_bridged_and_a_lonely_value_is_marked():
    course = Course(marks_of(1)[1], [1.0, 2.0, 3.0, 4.0, 5.0], [1.0, 2.0, math.nan, 4.0, math.nan])
    (plot,) = speed_plots([course], "dB", SHOWN)
    assert [len(each.get("points").split()) for each in elements(plot, "polyline")] == [2]
    # In the legend, at the first value, and alone between the gaps.
    assert len(elements(plot, "rect") + elements(plot, "polygon")) >= 3


def test_that_a_missing_value_leaves_the_radar_open():
    mark = marks_of(1)[1]
    closed, opened = (
        len(
            elements(
                radar_plots(ATTRIBUTES, [RadarSet(mark, values)], (1, 10), SHOWN)[0], "polyline"
            )
        )
        for values in ((5.0, 5.0, 5.0, 5.0), (5.0, 5.0, None, 5.0))
    )
    assert closed - opened == 2


def test_that_names_of_points_do_not_lie_on_each_other():
    (plot,) = scatter(7)
    places = [
        (float(each.get("x")), float(each.get("y")))
        for each in elements(plot, "text")
        if each.text.startswith(("S", "control"))
    ]
    assert len(places) == 8
    for one, other in itertools.combinations(places, 2):
        assert abs(one[0] - other[0]) >= 12 or abs(one[1] - other[1]) >= 12


def test_that_raw_and_corrected_stand_beside_each_other():
    plot = drift_plot([1, 2, 3], [70.0, 70.4, 70.9], [70.0, 70.1, 70.2], ("run", "dB(A)"), SHOWN)
    assert {"as measured", "corrected"} <= set(words_of(plot))
    assert [cell.text for cell in plot.values.rows[2]] == ["3", "70.90", "70.20"]
    alone = drift_plot([1, 2, 3], [70.0, 70.4, 70.9], [], ("run", "dB(A)"), SHOWN)
    assert "corrected" not in words_of(alone)


def test_that_an_interval_in_a_band_is_drawn_and_told():
    (plot,) = bands(1)
    assert "50-100 +1.5 (+0.5 to +2.5)" in plot.alternative
    assert [cell.text for cell in plot.values.rows[0]] == ["50-100", "+1.5 (+0.5 to +2.5)"]


def test_that_names_of_bands_do_not_run_into_each_other():
    names = ("Boom", "Cavity", "Structure-borne", "Pattern", "Airborne")
    drawn = [
        BandSet(mark, tuple(BandDifference(n, 1.0) for n in names)) for mark in marks_of(2)[1:]
    ]
    (plot,) = band_plots(drawn, SHOWN)
    written = [each for each in elements(plot, "text") if each.text in names]
    assert len(written) == 10
    for one, other in itertools.combinations(written, 2):
        room = (letters_wide(one.text, SMALL) + letters_wide(other.text, SMALL)) / 2
        apart = abs(float(one.get("x")) - float(other.get("x")))
        assert apart >= room or one.get("y") != other.get("y")
