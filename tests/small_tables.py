"""Valid small tables of every awkward kind, and what must hold of every finding about them."""

from __future__ import annotations

import json
import math
import re
import traceback
import warnings
from collections import Counter
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from ratings.commands import agree, compare, plan, prefer
from ratings.design.panel_plan import PlannedStudy, plan_panel
from ratings.findings.agreement import agreement
from ratings.findings.differences import differences
from ratings.findings.measured import measured
from ratings.findings.measured_words import condition_sentence, further_words
from ratings.findings.measured_words import headline as measured_headline
from ratings.findings.preference import preferences
from ratings.findings.repeats import repeat_findings
from ratings.reports.agreement_page import PageFacts, agreement_document
from ratings.reports.as_html import html_of
from ratings.study.attributes import Scale

if TYPE_CHECKING:
    from ratings.findings.agreement import AttributeAgreement
    from ratings.findings.differences import AttributeDifferences
    from ratings.findings.differences_figures import SetDifference

SCALE = Scale(1.0, 10.0)
SETS = ("101", "202", "303", "404", "505")
EVALUATORS = ("E1", "E2", "E3", "E4")
CONDITIONS = ("coarse", "smooth", "coast-down")

#: Words that stand for a figure that is not there.
_NO_FIGURE = re.compile(r"(?<![\w-])(nan|inf|infinity|None)(?![\w-])|[=:,(] -(?=[\s,;.)]|$)")
_PROBABILITY = re.compile(r"^p(_|$)|_p$")


# --- tables -------------------------------------------------------------------------------------


def score_tables(seed: int, count: int) -> Iterator[pd.DataFrame]:
    """Yield valid score tables; the same seed gives the same ones."""
    for number in range(count):
        yield score_table(np.random.default_rng([seed, number]))


def score_table(rng: np.random.Generator) -> pd.DataFrame:
    """Return one score table: 1-4 evaluators, 1-5 sets, 1-3 conditions, 1-2 repeats, or holes.

    A third are pairs against the control as sessions leave them, cut off after some answer.
    """
    shape = (
        int(rng.integers(1, 5)),
        int(rng.integers(1, 6)),
        int(rng.choice([1, 1, 2, 3])),
    )
    attributes = int(rng.choice([1, 1, 2]))
    tables = []
    for number in range(attributes):
        values = _values(rng, shape)
        table = (
            _of_session(rng, values) if rng.random() < 1 / 3 else _crossed(rng, values)
        ).assign(attribute=f"attribute_{number}")
        tables.append(table)
    whole = pd.concat(tables, ignore_index=True)
    return whole if len(whole) else score_table(rng)


def _values(rng: np.random.Generator, shape: tuple[int, int, int]) -> np.ndarray:
    """Return a score of each evaluator for each set in each condition, in one of many ways."""
    way = rng.integers(8)
    few = rng.choice(np.arange(1, 10.01, rng.choice([0.25, 0.5, 1.0])), int(rng.integers(2, 4)))
    if way == 0:
        return np.full(shape, rng.choice(few))
    if way == 1:
        values = np.full(shape, 10.0)
        values.flat[rng.integers(values.size)] = 1.5
        return values
    if way == 2:
        # Everybody alike, whatever the condition; perhaps with levels of their own.
        own = rng.choice([0.0, 0.0, 0.5], shape[0])
        return np.clip(rng.choice(few, shape[1])[None, :, None] + own[:, None, None], 1, 10) + (
            np.zeros(shape)
        )
    if way == 3:
        # Opposite evaluators.
        one = rng.integers(1, 11, shape[1:]).astype(float)
        turned = np.where(np.arange(shape[0]) % 2, -1.0, 1.0)[:, None, None]
        return 5.5 + turned * (one - 5.5)
    if way == 4:
        return rng.integers(1, 11, shape).astype(float)
    if way == 5:
        values = rng.choice(few, shape[1])[None, :, None] + np.zeros(shape)
        values.flat[rng.integers(values.size)] = rng.choice(few)
        return values
    if way == 6:
        level = rng.normal(6, 1.5, (1, shape[1], 1)) + rng.normal(0, 0.7, (shape[0], 1, 1))
        return np.clip(np.round((level + rng.normal(0, 0.5, shape)) * 4) / 4, 1, 10)
    return rng.choice(few, shape)


def _crossed(rng: np.random.Generator, values: np.ndarray) -> pd.DataFrame:
    repeats = int(rng.choice([1, 1, 2]))
    scatter = float(rng.choice([0.0, 0.25, 1.0]))
    holes = float(rng.choice([0.0, 0.0, 0.2, 0.6]))
    rows = []
    for place in np.ndindex(*values.shape):
        for repeat in range(repeats):
            if rng.random() < holes:
                continue
            score = values[place] + (scatter * rng.integers(-1, 2) if repeat else 0.0)
            rows.append((*_names(place), repeat + 1, float(np.clip(score, 1, 10))))
    table = pd.DataFrame(rows, columns=["evaluator", "set", "condition", "repeat", "score"])
    if values.shape[2] == 1 and rng.random() < 0.5:
        table = table.drop(columns="condition")
    # A score that was left empty is a valid row.
    if rng.random() < 0.2 and len(table) > 1:
        table.loc[int(rng.integers(len(table))), "score"] = np.nan
    return table


def _names(place: tuple[int, ...]) -> tuple[str, str, str]:
    return EVALUATORS[place[0]], SETS[place[1]], CONDITIONS[place[2]]


def _of_session(rng: np.random.Generator, values: np.ndarray) -> pd.DataFrame:
    """Return pairs of a candidate with the control, each evaluator stopped at some answer."""
    evaluators, sets, conditions = values.shape
    rows = []
    for evaluator in range(evaluators):
        pairs = [(s, c, "candidate") for s in range(1, sets) for c in range(conditions)]
        pairs = [pairs[index] for index in rng.permutation(len(pairs))]
        pairs.insert(int(rng.integers(len(pairs) + 1)), (0, int(rng.integers(conditions)), "null"))
        pairs += [(s, c, "repeat") for s, c, role in pairs[:1] if role == "candidate"]
        answers = 2 * len(pairs) if rng.random() < 0.4 else int(rng.integers(1, 2 * len(pairs) + 1))
        for number, (set_, condition, role) in enumerate(pairs):
            sides = [0, set_] if rng.random() < 0.5 else [set_, 0]
            for side, which in zip("AB", sides, strict=True):
                answers -= 1
                if answers < 0:
                    continue
                score = values[evaluator, which, condition] + rng.choice([0.0, 0.0, 0.25, -1.0])
                name = _names((evaluator, which, condition))
                rows.append((*name, 1, float(np.clip(score, 1, 10)), f"{number}", side, role))
    columns = ["evaluator", "set", "condition", "repeat", "score", "pair", "side", "role"]
    table = pd.DataFrame(rows, columns=columns)
    # The lead's desk numbers what was heard twice; the form is what matters here.
    table["repeat"] = table.groupby(["evaluator", "set", "condition"]).cumcount() + 1
    return table


def choice_table(rng: np.random.Generator) -> pd.DataFrame:
    """Return one table of choices between pairs."""
    sets, evaluators = int(rng.integers(1, 6)), int(rng.integers(1, 5))
    words = [["first", "second"], ["first", "second", "none"], ["none"], ["first"]]
    allowed = words[int(rng.choice([0, 0, 1, 1, 2, 3]))]
    in_order = rng.random() < 0.3
    rows = []
    for evaluator in range(evaluators):
        for first in range(sets):
            for second in range(sets):
                if rng.random() < 0.5 or (first == second and rng.random() < 0.8):
                    continue
                choice = str(rng.choice(allowed))
                if in_order and first != second:
                    choice = "first" if first < second else "second"
                choice = "" if rng.random() < 0.05 else choice
                rows.append((EVALUATORS[evaluator], SETS[first], SETS[second], choice))
    if not rows:
        return choice_table(rng)
    return pd.DataFrame(rows, columns=["evaluator", "first", "second", "choice"])


def measurement_table(rng: np.random.Generator) -> pd.DataFrame:
    """Return one small measurement table."""
    rows = []
    level = float(rng.choice([0.0, 60.0]))
    for set_ in SETS[: int(rng.integers(1, 4))]:
        for condition in CONDITIONS[: int(rng.integers(1, 3))]:
            for run in range(1, int(rng.integers(1, 4)) + 1):
                unit = str(rng.choice(["dB re 20 uPa", "dB re full scale"], p=[0.8, 0.2]))
                for channel in ("ears",):
                    for figure in ("leq_a", "band_boom", "loudness_n5"):
                        if rng.random() < 0.1:
                            continue
                        value = level + float(rng.choice([0.0, 0.0, 1.0, 5.0]))
                        value = float(rng.choice([value, math.nan, -math.inf], p=[0.9, 0.07, 0.03]))
                        kind = "sone" if figure.startswith("loud") else unit
                        rows.append((set_, condition, run, channel, figure, kind, value))
    columns = ["set", "condition", "run", "channel", "figure", "unit", "value"]
    return pd.DataFrame(rows, columns=columns) if rows else measurement_table(rng)


# --- what must hold -----------------------------------------------------------------------------


class BrokenError(AssertionError):
    """Something that must hold of every finding does not."""


def check_agreement(table: pd.DataFrame) -> None:
    """Judge the agreement and write it in every form."""
    seconds = 9.0 * (np.arange(len(table)) % 7)
    times = pd.DataFrame({"evaluator": table["evaluator"], "seconds": seconds, "both_sides_s": 8.0})
    blocks = agreement(table, SCALE, pair_times=times)
    for block in blocks:
        _agreement_holds(block)
    _json_holds(agree.as_json(blocks))
    _text_holds(agree.as_text(blocks))
    _text_holds(agree.as_details(blocks))
    names = tuple(dict.fromkeys(b.condition for b in blocks if b.condition))
    facts = PageFacts("Small", "", datetime(2026, 1, 1, tzinfo=UTC), "0", False, {}, names)
    page = html_of(agreement_document(facts, blocks))
    body = re.sub(r"<style>.*?</style>", "", page, flags=re.DOTALL)
    _text_holds(re.sub(r"<[^>]*>", "\n", body))


def check_differences(table: pd.DataFrame) -> None:
    """Compare with the first and with the last set as the control, and write it."""
    controls = sorted(table["set"].unique())
    for control in dict.fromkeys((controls[0], controls[-1])):
        blocks = differences(table, control, SCALE)
        for block in blocks:
            _tests_hold(block)
            for difference in block.differences:
                _difference_holds(difference)
                _sentence_holds(difference)
        _json_holds(compare.as_json(blocks))
        _text_holds(compare.as_text(blocks))
        _text_holds(compare.as_details(blocks))


def check_preferences(table: pd.DataFrame) -> None:
    """Judge choices and write them."""
    blocks = preferences(table)
    _json_holds(prefer.as_json(blocks))
    _text_holds(prefer.as_text(blocks))


def small_study(rng: np.random.Generator) -> PlannedStudy:
    """Return one small study to be planned."""
    return PlannedStudy(
        sets=int(rng.integers(2, 6)),
        evaluators=int(rng.integers(1, 5)),
        conditions=int(rng.integers(1, 4)),
        attributes=int(rng.integers(1, 9)),
        difference=float(rng.choice([0.01, 0.5, 1.0, 9.0])),
        sd=float(rng.choice([0.001, 0.5, 1.0, 20.0])),
    )


def check_plan(study: PlannedStudy) -> None:
    """Plan a study, and write it."""
    found = plan_panel(study)
    _json_holds(plan.as_json(found))
    _text_holds(plan.as_text(found))
    _in_unit(found.claim.power, "power of the claim")
    _in_unit(found.alone.power, "power")


def check_measured(table: pd.DataFrame) -> None:
    """Compare measured sets with the first one, and say it."""
    found = measured(table, SETS[0], CONDITIONS)
    for channel in found.channels:
        _text_holds(measured_headline(found, channel))
        _text_holds(further_words(found, channel))
        for condition in found.conditions:
            _text_holds(condition_sentence(found.block(condition, channel)))
    for finding in found.findings:
        for each in finding.differences:
            _holds(each.difference is not None or each.reason, "no difference and no reason")
            _ordered(each.low, each.difference, each.high, "measured interval")
            _in_unit(each.p, "measured p")
            _in_unit(each.p_holm, "measured p_holm")
    for finding in repeat_findings(table):
        for remark in finding.remarks:
            _text_holds(remark.sentence)


def _holds(claim: Any, what: str) -> None:
    if not claim:
        raise BrokenError(what)


def _in_unit(value: float | None, what: str) -> None:
    _holds(value is None or -1e-12 <= value <= 1 + 1e-12, f"{what} outside 0 to 1")


def _ordered(low: float | None, middle: float | None, high: float | None, what: str) -> None:
    if low is not None and high is not None and middle is not None:
        slack = 1e-6 * max(1.0, abs(middle))
        _holds(low <= middle + slack and middle <= high + slack, f"{what} not in order")


def _agreement_holds(block: AttributeAgreement) -> None:
    kendall = block.kendall
    _in_unit(kendall.w, "W")
    _holds((kendall.w is None) == bool(kendall.reason), "W and its reason")
    _ordered(kendall.lower, kendall.w, kendall.upper, "W's interval")
    for p in (kendall.p, kendall.p_exact, kendall.p_f, kendall.p_chi_square):
        _in_unit(p, "p of W")
    for form in block.icc.forms:
        _holds(form.value is None or form.value <= 1 + 1e-9, "ICC above 1")
        _holds(form.value is not None or form.reason, "ICC without value or reason")
        _holds(form.lower is not None or form.reason, "ICC without interval or reason")
        _ordered(form.lower, form.value, form.upper, "ICC's interval")
        _in_unit(form.p, "p of ICC")
        _holds(form.f is None or form.f >= 0, "negative F of ICC")
    components = block.icc.components
    if components is not None:
        parts = components.sets, components.evaluators, components.residual
        _holds(all(part >= 0 for part in parts), "negative variance component")
    _in_unit(block.p_holm, "adjusted p of W")
    if block.agrees is not None:
        _holds(block.agrees == (block.p_holm <= 0.05), "agrees against p")
        _holds(block.p_holm >= kendall.p, "adjusted p below p")
    for finding in block.evaluators_detail:
        _in_unit(finding.discrimination_p, "p of discrimination")
        _holds(finding.repeat_sd is None or finding.repeat_sd >= 0, "negative SD")
        for reason in finding.reasons:
            _text_holds(reason)
    _text_holds(block.sentence)


def _difference_holds(d: SetDifference) -> None:
    for name in ("p", "p_dunnett", "p_holm", "p_signed_rank_exact", "p_sign_flip", "equivalent_p"):
        _in_unit(getattr(d, name), name)
    if d.p_dunnett is not None and d.p is not None:
        _holds(d.p_dunnett >= d.p - 1e-5, "Dunnett below p")
    _ordered(d.lower, d.difference, d.upper, "interval of difference")
    _ordered(d.lower_simultaneous, d.difference, d.upper_simultaneous, "simultaneous interval")
    _holds(d.se is None or d.se > 0, "standard error not positive")
    _holds(d.df is None or d.df > 0, "degrees of freedom not positive")
    if d.p is not None and d.lower is not None and d.upper is not None:
        is_beyond = d.lower > 1e-9 or d.upper < -1e-9
        _holds(is_beyond == (d.p < 0.05) or abs(d.p - 0.05) < 1e-6, "interval against p")
    for row in d.by_condition:
        _ordered(row.lower, row.difference, row.upper, "interval in condition")
        _in_unit(row.p, "p in condition")
        _in_unit(row.p_holm, "adjusted p in condition")
    if d.without_flagged is not None:
        _text_holds(d.without_flagged.sentence)


def _sentence_holds(d: SetDifference) -> None:
    _holds(d.difference is not None or d.verdict == "unknown", "verdict without a difference")
    if d.verdict in ("better", "worse"):
        _holds(d.p_holm <= 0.05, "verdict without significance")
        _holds(d.evaluators > 2, "two evaluators for a panel")
        _holds((d.difference > 0) == (d.verdict == "better"), "verdict against the sign")
        _holds(f"{d.verdict} by" in d.sentence or "equal on" in d.sentence, "sentence's way")
    if re.search(r"(?<!un)\bclear\b(?! alone)", d.sentence.split("By condition")[0]) and (
        "Without" not in d.sentence
    ):
        _holds(d.p_holm is not None and d.p_holm <= 0.05, "clear without significance")
    _text_holds(d.sentence)


def _tests_hold(block: AttributeDifferences) -> None:
    for test in (block.kenward_roger, block.satterthwaite, block.balanced_ratio):
        if test is not None:
            _in_unit(test.p, "p of F")
            _holds(test.f >= 0 and test.df2 > 0, "impossible F test")
    if block.set_by_condition is not None:
        _in_unit(block.set_by_condition.p, "p of interaction")
        _holds(block.set_by_condition.f >= 0, "negative interaction F")
    _holds(all(value >= 0 for value in block.components.values()), "negative variance")


def _json_holds(figures: Any) -> None:
    text = json.dumps(figures, allow_nan=False)
    _probabilities_hold(json.loads(text))


def _probabilities_hold(value: Any) -> None:
    if isinstance(value, dict):
        for name, inner in value.items():
            if _PROBABILITY.search(name) and isinstance(inner, (int, float)):
                _in_unit(inner, f"JSON {name}")
            _probabilities_hold(inner)
    elif isinstance(value, list):
        for inner in value:
            _probabilities_hold(inner)


def _text_holds(text: str) -> None:
    for line in text.splitlines():
        found = _NO_FIGURE.search(line)
        _holds(found is None, f"no figure in a sentence: {found and found.group(0)!r} in {line!r}")


# --- the run ------------------------------------------------------------------------------------

#: What makes a table, what is asked of it, and of every how many numbers.
CHECKS: tuple[tuple[Callable[[np.random.Generator], Any], Callable[[Any], None], int], ...] = (
    (score_table, check_agreement, 1),
    (score_table, check_differences, 1),
    (choice_table, check_preferences, 2),
    (measurement_table, check_measured, 5),
    (small_study, check_plan, 10),
)


def failures(seed: int, first: int, last: int) -> Counter[str]:
    """Run tables `first` to `last` through every finding; count distinct failures by where."""
    found: Counter[str] = Counter()
    for number in range(first, last):
        for make, check, every in CHECKS:
            if number % every:
                continue
            table = make(np.random.default_rng([seed, number]))
            with warnings.catch_warnings():
                warnings.simplefilter("error")
                try:
                    check(table)
                except Exception as problem:  # noqa: BLE001 - every kind is to be counted
                    found[_where(problem, check, number)] += 1
    return found


def _where(problem: Exception, check: Callable[[Any], None], number: int) -> str:
    if isinstance(problem, BrokenError):
        return f"{check.__name__}: {problem}"
    frames = [f for f in traceback.extract_tb(problem.__traceback__) if "/ratings/" in f.filename]
    last = frames[-1] if frames else traceback.extract_tb(problem.__traceback__)[-1]
    place = f"{last.filename.partition('/ratings/')[2]}:{last.name}"
    return f"{check.__name__}: {type(problem).__name__}: {problem} in {place}"
