import pytest

from ratings.errors import MeasurementError
from ratings.study.tyre_size import tyre_size


def test_that_205_55r16_has_the_diameter_that_its_numbers_give() -> None:
    size = tyre_size("205/55R16")
    assert size.outer_diameter_m == pytest.approx(0.6319, abs=1e-6)
    assert size.rim_diameter_m == pytest.approx(0.4064, abs=1e-6)


@pytest.mark.parametrize(
    ("size", "turns_per_s"),
    [("205/55R16", 11.5), ("225/45R17", 11.5), ("225/50R18", 10.7), ("255/45R20", 9.9)],
)
def test_that_wheels_turn_at_80_km_h_as_tabled(size: str, turns_per_s: float) -> None:
    # Table computed elsewhere from size tables (shared trade notes, 2.4), rough to 5 %.
    assert 80 / 3.6 / tyre_size(size).rolling_circumference_m == pytest.approx(
        turns_per_s, rel=0.05
    )


@pytest.mark.parametrize("text", ["", "205-55-16", "large", "20/5R1"])
def test_that_a_text_that_is_no_size_is_refused_in_words(text: str) -> None:
    with pytest.raises(MeasurementError, match="cannot be read"):
        tyre_size(text)


@pytest.mark.parametrize("text", ["000/00R00", "999/55R16", "205/99R16", "205/55R99"])
def test_that_a_size_that_no_road_tyre_has_is_refused(text: str) -> None:
    with pytest.raises(MeasurementError, match="No road tyre"):
        tyre_size(text)


@pytest.mark.parametrize("text", ["205/75R16C", "p205/75 zr 16", " 205/75R16 113/111R"])
def test_that_what_stands_beside_the_size_does_not_hide_it(text: str) -> None:
    assert tyre_size(text) == tyre_size("205/75R16")


@pytest.mark.parametrize("text", ["LT265/70R17", "P205/55R16", "385/65R22.5", "205/75R16C"])
def test_that_light_truck_and_half_inch_sizes_are_read(text: str) -> None:
    rim = {"LT265/70R17": 17, "P205/55R16": 16, "385/65R22.5": 22.5, "205/75R16C": 16}[text]
    assert tyre_size(text).rim_diameter_m == pytest.approx(rim * 0.0254)


@pytest.mark.parametrize("text", ["295/80R22.5", "295/80R22,5", "295/80 R 22,5 152/148M"])
def test_that_a_half_inch_of_rim_is_read_with_either_mark(text: str) -> None:
    assert tyre_size(text).rim_diameter_m == pytest.approx(22.5 * 0.0254)


@pytest.mark.parametrize("text", ["205/55R16,2", "205/55R16.", "205/55R22,55"])
def test_that_a_rim_is_never_partly_read(text: str) -> None:
    with pytest.raises(MeasurementError, match="cannot be read"):
        tyre_size(text)
