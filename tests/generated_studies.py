"""Invented studies of every kind that a lead may have, as what a verdict is asked of."""

from dataclasses import replace

import numpy as np
import pandas as pd

from ratings.findings.measured import measured
from ratings.findings.measured_study import MeasuredStudy
from ratings.findings.verdict.cautions import Seat
from ratings.findings.verdict.question import Question
from ratings.study.attributes import Attribute, Scale
from ratings.study.bands import DEFAULT_BANDS
from ratings.study.sets import Condition
from ratings.study.study_settings import StudySettings

KINDS = (
    "no difference",
    "clear",
    "by condition",
    "contradicting",
    "two evaluators",
    "one evaluator",
    "one condition",
    "one set",
    "forty sets",
    "unfinished",
    "planned more",
    "one flagged",
    "unanimous",
    "small difference",
    "holes",
    "no control",
    "nobody rated one",
    "nothing measured",
    "meter otherwise",
    "one run each",
    "no scores",
    "driven with drift",
    "named",
)
CONTROL = "101"
ATTRIBUTES = (
    Attribute("boom", "Boom", "pressure on the ears", 20, 100),
    Attribute("cavity_ring", "Cavity ring", "rings after edges", 100, 300),
    Attribute("hiss", "Hiss", "rush of air", 1000, 4000),
    Attribute("overall", "Overall", "all of it together"),
)
FIGURES = {
    "boom": "band_boom",
    "cavity_ring": "band_cavity",
    "hiss": None,
    "overall": "leq_a",
}
CONDITIONS = (
    Condition(1, "coarse asphalt", "steady", 80.0),
    Condition(2, "smooth asphalt", "coast-down", 80.0, 40.0),
)


def question(kind: str, seed: int) -> Question:
    """Make a study of a kind."""
    rng = np.random.default_rng([KINDS.index(kind), seed])
    sets = {"one set": 1, "forty sets": 40}.get(kind, int(rng.integers(2, 6)))
    codes = (CONTROL, *(str(201 + number) for number in range(sets)))
    people = {"two evaluators": 2, "one evaluator": 1}.get(kind, int(rng.integers(4, 11)))
    conditions = CONDITIONS[:1] if kind == "one condition" else CONDITIONS
    effect = _effects(kind, rng, sets, len(conditions))
    scores = _scores(kind, rng, codes, people, conditions, effect)
    seats = tuple(Seat(f"E{n}", 10, 10) for n in range(1, people + 1))
    settings = StudySettings(attribute_figures=FIGURES)
    if kind == "unfinished":
        seats = (*seats[:-1], replace(seats[-1], locked_count=6))
    if kind == "planned more":
        settings = replace(settings, planned_evaluators=people + int(rng.integers(1, 8)))
    found = None
    if kind != "nothing measured":
        runs = 1 if kind == "one run each" else 3
        turn = -1 if kind == "meter otherwise" else 1
        found = _measured(rng, codes, conditions, turn * effect, runs)
    named = {code: f"Set-{code}-name" for code in codes} if kind == "named" else {}
    return Question(
        scores=scores,
        control=CONTROL,
        codes=codes,
        attributes=ATTRIBUTES,
        conditions=tuple(condition.title for condition in conditions),
        scale=Scale(),
        settings=settings,
        seats=seats,
        measured=found,
        names=named,
    )


def _effects(kind, rng, sets, conditions):
    """Return true differences in points, shape (sets, attributes, conditions)."""
    shape = (sets, len(ATTRIBUTES), conditions)
    if kind in ("no difference", "unanimous", "planned more"):
        return np.zeros(shape)
    if kind == "small difference":
        return np.full(shape, 0.3)
    effect = np.where(
        rng.random(shape[:2]) < 0.5, 0.0, rng.choice([-1.5, -0.8, 0.8, 1.5], shape[:2])
    )
    effect = np.repeat(effect[:, :, None], conditions, axis=2)
    if kind == "by condition":
        effect[:, :, 0] = 0.0
    return effect


def _scores(kind, rng, codes, people, conditions, effect):
    own_level = rng.normal(0, 0.5, people)
    rows = []
    for person in range(people):
        sign = -1 if kind == "contradicting" and person % 2 else 1
        noise = 2.0 if kind == "one flagged" and person == 0 else 0.35
        noise = 0.0 if kind == "unanimous" else noise
        hour = 0.0
        for place, code in enumerate(codes):
            for number, attribute in enumerate(ATTRIBUTES):
                for where, condition in enumerate(conditions):
                    repeats = 2 if kind == "driven with drift" and code == CONTROL else 1
                    for repeat in range(repeats):
                        hour += 0.01
                        true = 0.0 if place == 0 else effect[place - 1, number, where]
                        drift = -1.2 * repeat if kind == "driven with drift" else 0.0
                        value = 6.5 + own_level[person] + sign * true + drift
                        value = np.clip(round(4 * (value + rng.normal(0, noise))) / 4, 1, 10)
                        moment = pd.Timestamp("2031-05-04T08:00:00Z") + pd.Timedelta(
                            hours=hour + 3 * repeat
                        )
                        rows.append(
                            {
                                "evaluator": f"E{person + 1}",
                                "set": code,
                                "condition": condition.title,
                                "attribute": attribute.key,
                                "repeat": repeat + 1,
                                "score": float(value),
                                "origin": "driven" if kind == "driven with drift" else "listened",
                                "given_at": moment.isoformat(),
                            }
                        )
    table = pd.DataFrame(rows)
    if kind == "holes":
        table = table[rng.random(len(table)) > 0.25]
    if kind == "no control":
        table = table[table["set"] != CONTROL]
    if kind == "nobody rated one":
        table = table[table["attribute"] != "hiss"]
    if kind == "no scores":
        table = table.iloc[:0]
    return table.reset_index(drop=True)


def _measured(rng, codes, conditions, effect, runs):
    """Measure levels that follow what is heard, 2 dB a point."""
    rows = []
    for place, code in enumerate(codes):
        for where, condition in enumerate(conditions):
            for run in range(1, runs + 1):
                for number, attribute in enumerate(ATTRIBUTES):
                    key = FIGURES[attribute.key]
                    if key is None:
                        continue
                    true = 0.0 if place == 0 else -2.0 * effect[place - 1, number, where]
                    unit = "dB(A)" if key == "leq_a" else "dB"
                    value = 62.0 + true + rng.normal(0, 0.3)
                    rows.append((code, condition.title, run, "ears", key, unit, float(value)))
    columns = ["set", "condition", "run", "channel", "figure", "unit", "value"]
    found = measured(
        pd.DataFrame(rows, columns=columns), CONTROL, [each.title for each in conditions]
    )
    return MeasuredStudy(
        control=CONTROL,
        codes=codes,
        conditions=tuple(conditions),
        runs=(),
        remarks={},
        found=found,
        bands=DEFAULT_BANDS,
    )
