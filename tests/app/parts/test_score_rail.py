import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.parts.score_rail import Marks, Rail, on_step, score_text

RAIL = Rail(left_px=100, right_px=1000)
STEPS = st.sampled_from([0.25, 0.5, 1.0])


def test_that_the_ends_and_the_borderline_stand_where_the_scale_says():
    assert RAIL.position_px(1) == 100
    assert RAIL.position_px(10) == 1000
    assert RAIL.position_px(5) == 500


@given(step=STEPS, index=st.integers(0, 36), off=st.floats(-0.49, 0.49))
def test_that_a_place_nearer_to_a_step_than_to_others_is_that_step(step, index, off):
    score = min(1 + index * step, 10.0)
    rail = Rail(100, 1000, step)
    step_px = rail.position_px(1 + step) - rail.position_px(1)
    assert rail.score_at(rail.position_px(score) + off * step_px) == pytest.approx(score)


@given(x=st.floats(-5000, 5000), step=STEPS)
def test_that_no_place_gives_a_score_off_the_scale_or_off_the_step(x, step):
    score = Rail(100, 1000, step).score_at(x)
    assert 1 <= score <= 10
    assert (score - 1) % step == 0


def test_that_whole_numbers_weigh_no_more_than_halves():
    kinds = dict(RAIL.ticks())
    assert kinds[7.0] == kinds[6.5] == "half"
    assert kinds[6.25] == "step"
    assert [score for score, kind in kinds.items() if kind == "borderline"] == [5.0]
    assert len(kinds) == 37


def test_that_marks_name_the_better_side_only_when_both_are_given_and_differ():
    assert Marks().better is None
    assert Marks(a=8.0).better is None
    assert Marks(8.0, 6.75).better == "A"
    assert Marks(6.0, 6.75).better == "B"
    assert Marks(7.0, 7.0).better is None
    assert Marks(8.0, 6.75).difference == 1.25


def test_that_figures_have_the_decimals_of_the_step():
    assert [score_text(7.5, step) for step in (0.25, 0.5, 1.0)] == ["7.50", "7.5", "8"]
    assert on_step(7.4, 0.5) == 7.5
    assert on_step(0.0, 0.25) == 1.0
    assert on_step(11.0, 0.25) == 10.0
