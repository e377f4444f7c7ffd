"""Six invented evaluators and how they listen, so that the sample study has scores to show."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ratings.study.attributes import Scale
from ratings.study.listening import Side
from ratings.synthesis.sample_study import SAMPLE_STUDY, SampleStudy, attribute_changes_db
from ratings.synthesis.sketch import SketchError

#: About 4 dB in a dominant line are a point; common practice, no source.
POINTS_PER_DB = -0.25
#: The overall score follows the sum of what was heard at this rate; ours.
_OVERALL_SHARE = 0.6
#: What the control gets from an evaluator without any habits, per condition; ours.
_CONTROL_POINTS: Mapping[str, Mapping[str, float]] = {
    "coarse_80": {
        "boom": 6.0,
        "rumble": 5.5,
        "cavity_ring": 5.5,
        "pattern_whine": 7.5,
        "hiss": 7.25,
        "evenness": 7.5,
        "overall": 5.75,
    },
    "smooth_100": {
        "boom": 7.0,
        "rumble": 6.75,
        "cavity_ring": 6.5,
        "pattern_whine": 6.75,
        "hiss": 6.25,
        "evenness": 7.25,
        "overall": 6.5,
    },
    "coast_80_40": {
        "boom": 7.25,
        "rumble": 7.0,
        "cavity_ring": 6.5,
        "pattern_whine": 6.75,
        "hiss": 7.0,
        "evenness": 7.0,
        "overall": 6.75,
    },
}
#: How much of a difference can be heard in a condition; 1 where the table is silent. A coarse road
#: covers the pattern and the hiss, a steady speed says little about evenness; ours.
_AUDIBLE: Mapping[tuple[str, str], float] = {
    ("coarse_80", "pattern_whine"): 0.6,
    ("coarse_80", "hiss"): 0.6,
    ("coarse_80", "evenness"): 0.0,
    ("smooth_100", "evenness"): 0.0,
    ("smooth_100", "boom"): 0.8,
    ("smooth_100", "cavity_ring"): 0.8,
    ("coast_80_40", "cavity_ring"): 0.8,
    ("coast_80_40", "boom"): 0.8,
}


@dataclass(frozen=True, slots=True)
class InventedEvaluator:
    """Somebody who is not there, with habits in points of the 1-10 scale.

    Attributes
    ----------
    offset
        Added to every score.
    stretch
        Factor on every difference: above 1 uses more of the scale than the others.
    noise_sd
        Standard deviation from one score to the next.
    side_a_bias
        Added to whatever plays on side A.
    """

    name: str
    offset: float
    stretch: float
    noise_sd: float
    side_a_bias: float = 0.0
    note: str = ""


_PANEL = (
    InventedEvaluator("E1", 0.0, 1.0, 0.15, note="steady"),
    InventedEvaluator("E2", 0.5, 0.8, 0.2, note="generous, uses little of the scale"),
    InventedEvaluator("E3", -0.5, 1.2, 0.2, note="strict, uses more of the scale"),
    InventedEvaluator("E4", 0.25, 1.1, 0.15, note="steady"),
    InventedEvaluator("E5", -0.25, 0.9, 0.3, note="newer, a little noisier"),
    InventedEvaluator(
        "E6", 0.25, 0.4, 0.7, side_a_bias=0.75, note="unreliable on purpose: noisy, prefers side A"
    ),
)


def invented_panel() -> tuple[InventedEvaluator, ...]:
    """Return the six evaluators of the sample study, E1 to E6; E6 is unreliable on purpose."""
    return _PANEL


def true_difference(
    set_name: str, condition_key: str, attribute: str, study: SampleStudy = SAMPLE_STUDY
) -> float:
    """Return what a set deserves against the control, in points; above zero is quieter.

    Notes
    -----
    The dB built into the set times `POINTS_PER_DB` times how much of it can be heard in this
    condition. Overall is a fixed share of the sum over the other attributes.

    Raises
    ------
    SketchError
        When the study has no such set, condition or attribute.
    """
    condition_key = study.condition_keyed(condition_key).key
    changes_db = attribute_changes_db(study.set_named(set_name).tyre)
    points = {
        key: POINTS_PER_DB * change_db * _AUDIBLE.get((condition_key, key), 1.0)
        for key, change_db in changes_db.items()
    }
    points["overall"] = _OVERALL_SHARE * sum(points.values())
    if attribute not in points:
        raise SketchError(
            f"The invented panel does not know the attribute {attribute}.",
            f"It knows {', '.join(points)}.",
        )
    return points[attribute]


def score(
    evaluator: InventedEvaluator,
    set_name: str,
    condition_key: str,
    attribute: str,
    side: Side,
    rng: np.random.Generator,
) -> float:
    """Return what an evaluator writes down for a set of the sample study, on a step of the scale.

    Notes
    -----
    control's points + offset + stretch x true difference + bias of side A + normal noise, then the
    nearest quarter point within 1 to 10.
    """
    deserved = true_difference(set_name, condition_key, attribute)
    heard = (
        _CONTROL_POINTS[condition_key][attribute]
        + evaluator.offset
        + evaluator.stretch * deserved
        + (evaluator.side_a_bias if side == "A" else 0.0)
        + rng.normal(0.0, evaluator.noise_sd)
    )
    return Scale().nearest(heard)
