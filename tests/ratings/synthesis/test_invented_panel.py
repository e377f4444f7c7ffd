import numpy as np
import pytest

from ratings.study.attributes import DEFAULT_ATTRIBUTES, Scale
from ratings.synthesis.invented_panel import invented_panel, score, true_difference
from ratings.synthesis.sample_study import SAMPLE_STUDY
from ratings.synthesis.sketch import SketchError

ATTRIBUTES = [each.key for each in DEFAULT_ATTRIBUTES]
RELIABLE = invented_panel()[:5]
UNRELIABLE = invented_panel()[5]


def mean_score(evaluator, set_name, condition, attribute, side="A", times=400) -> float:
    rng = np.random.default_rng(1)
    given = [score(evaluator, set_name, condition, attribute, side, rng) for _ in range(times)]
    return float(np.mean(given))


def test_that_every_score_lies_on_a_step_of_the_scale() -> None:
    rng = np.random.default_rng(1)
    for evaluator in invented_panel():
        for each in SAMPLE_STUDY.sets:
            for condition in SAMPLE_STUDY.conditions:
                for attribute in ATTRIBUTES:
                    given = score(evaluator, each.name, condition.key, attribute, "B", rng)
                    assert Scale().holds(given)


def test_that_four_decibels_in_a_line_are_about_a_point() -> None:
    assert true_difference("Birch", "coarse_80", "cavity_ring") == pytest.approx(1.25)
    assert true_difference("Rowan", "smooth_100", "pattern_whine") == pytest.approx(-1.25)
    assert true_difference("Maple", "coarse_80", "overall") == 0.0


def test_that_unevenness_is_heard_on_the_way_down_only() -> None:
    assert true_difference("Rowan", "coast_80_40", "evenness") == pytest.approx(-1.5)
    assert true_difference("Rowan", "coarse_80", "evenness") == 0.0


@pytest.mark.parametrize("evaluator", RELIABLE, ids=lambda each: each.name)
def test_that_a_reliable_evaluator_hears_the_known_difference(evaluator) -> None:
    heard = mean_score(evaluator, "Birch", "coarse_80", "cavity_ring") - mean_score(
        evaluator, "Maple", "coarse_80", "cavity_ring"
    )
    assert heard == pytest.approx(1.25 * evaluator.stretch, abs=0.1)


def test_that_the_unreliable_evaluator_prefers_side_a_and_scatters() -> None:
    on_a, on_b = (
        mean_score(UNRELIABLE, "Maple", "smooth_100", "hiss", side=side) for side in ("A", "B")
    )
    assert on_a - on_b == pytest.approx(0.75, abs=0.1)
    assert UNRELIABLE.noise_sd > 2 * max(each.noise_sd for each in RELIABLE)


def test_that_reliable_evaluators_do_not_care_for_sides() -> None:
    for evaluator in RELIABLE:
        on_a, on_b = (
            mean_score(evaluator, "Maple", "smooth_100", "hiss", side=side) for side in ("A", "B")
        )
        assert on_a == on_b


def test_that_an_attribute_nobody_defined_is_refused() -> None:
    with pytest.raises(SketchError, match="does not know"):
        true_difference("Birch", "coarse_80", "smell")
