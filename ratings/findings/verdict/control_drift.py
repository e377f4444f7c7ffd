"""Did the control stay what it was? In the scores of a session or a drive, and in its runs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt

from ratings.findings.measured import Measured
from ratings.findings.verdict.words import signed
from ratings.statistics.adjusted_p import holm
from ratings.statistics.runs.drift import ControlDrift, control_drift, correct_for_drift
from ratings.study.constants import ALPHA
from ratings.study.figures import EARS
from ratings.study.wording import counted

if TYPE_CHECKING:
    import pandas as pd

Matrix = npt.NDArray[np.float64]

#: Change between runs of the control that makes a session suspect: common practice, no source.
SUSPECT_DB = 1.0
Source = Literal["listened", "driven", "measured"]


@dataclass(frozen=True, slots=True)
class DriftFinding:
    """The control over a session, a day, or its runs.

    Attributes
    ----------
    source
        Scores given listening, in their order; given driving, by hour; or measured, by run.
    subject
        Attribute, or condition of what was measured.
    unit, time_unit
        Of level and time, such as ``points`` over ``pairs``.
    time, level
        Each of shape (runs,): the control's level with evaluators' own levels taken off.
    drift
        Slope and jumps.
    is_suspect
        Whether it moved more than the study allows: listened, a slope clear after adjusting for the
        attributes; driven and measured, a change between two runs over the limit.
    raw, corrected
        Difference of each set to the control before and after the control's drift is taken off, in
        score points, by code; only for driven scores with two or more runs of the control.
    sentence
        What it says.
    """

    source: Source
    subject: str
    unit: str
    time_unit: str
    time: tuple[float, ...]
    level: tuple[float, ...]
    drift: ControlDrift
    is_suspect: bool
    sentence: str
    raw: Mapping[str, float] = field(default_factory=dict)
    corrected: Mapping[str, float] = field(default_factory=dict)


def control_drifts(
    scores: pd.DataFrame,
    control: str,
    names: Mapping[str, str],
    found: Measured | None,
    limit_points: float,
) -> tuple[DriftFinding, ...]:
    """Look at the control wherever it was met more than once.

    Parameters
    ----------
    scores
        The score table of a study, sets under codes; ``given_at`` says in which order.
    names
        Of the attributes, by key.
    limit_points
        Change of the control from which driven scores are suspect.
    """
    told: list[DriftFinding] = []
    if len(scores) and "given_at" in scores.columns:
        own = scores[(scores["set"] == control) & scores["score"].notna()]
        listened = own[own["origin"] == "listened"] if "origin" in own else own
        told += _listened(listened, names, limit_points)
        if "origin" in scores:
            told += _driven(scores[scores["origin"] == "driven"], control, names, limit_points)
    if found is not None:
        told += _measured(found)
    return tuple(told)


def _listened(own: pd.DataFrame, names: Mapping[str, str], limit: float) -> list[DriftFinding]:
    asked = []
    for attribute, rows in own[own["given_at"].notna()].groupby("attribute", sort=False):
        table = _by_order(rows)
        if table.shape[1] > 2:
            time = np.arange(1.0, table.shape[1] + 1)
            asked.append((str(attribute), time, control_drift(time, table, limit), len(table)))
    p = holm([drift.slope_p for *_, drift, _ in asked if drift.slope_p is not None])
    adjusted = iter(p.tolist())
    told = []
    for attribute, time, drift, evaluators in asked:
        chance = next(adjusted) if drift.slope_p is not None else 1.0
        is_suspect = chance <= ALPHA
        told.append(
            DriftFinding(
                "listened",
                names.get(attribute, attribute),
                "points",
                "pairs",
                tuple(time.tolist()),
                tuple(drift.levels.tolist()),
                drift,
                is_suspect,
                _slope_words(drift, float(time[-1] - time[0]), evaluators, is_clear=is_suspect),
            )
        )
    return told


def _by_order(rows: pd.DataFrame) -> Matrix:
    """Return the control's scores in the order of giving, conditions' levels taken off.

    Shape (evaluators, most scores of one); NaN behind an evaluator's last.
    """
    level = rows.groupby("condition")["score"].transform("mean")
    freed = rows.assign(score=rows["score"] - level + rows["score"].mean())
    by_person = [
        each.sort_values("given_at", kind="stable")["score"].to_numpy(dtype=float)
        for _, each in freed.groupby("evaluator", sort=True)
    ]
    table = np.full((len(by_person), max(map(len, by_person))), np.nan)
    for row, values in enumerate(by_person):
        table[row, : len(values)] = values
    return table


def _driven(
    scores: pd.DataFrame, control: str, names: Mapping[str, str], limit: float
) -> list[DriftFinding]:
    import pandas as pd

    timed = scores[scores["given_at"].notna() & scores["score"].notna()]
    if not len(timed):
        return []
    when = pd.to_datetime(timed["given_at"], utc=True, format="ISO8601", errors="coerce")
    timed = timed.assign(hours=(when - when.min()).dt.total_seconds() / 3600)
    timed = timed[timed["hours"].notna()]
    told = []
    for attribute, rows in timed.groupby("attribute", sort=False):
        own = rows[rows["set"] == control]
        runs = own.groupby("evaluator").size()
        if not len(runs) or runs.max() < 2:
            continue
        table, time = _by_order(own), _hours(own)
        drift = control_drift(time, table, limit)
        raw, corrected = _corrected(rows, control)
        told.append(
            DriftFinding(
                "driven",
                names.get(str(attribute), str(attribute)),
                "points",
                "hours",
                tuple(time.tolist()),
                tuple(drift.levels.tolist()),
                drift,
                drift.is_suspect,
                _jump_words(drift, "points", limit),
                raw,
                corrected,
            )
        )
    return told


def _hours(own: pd.DataFrame) -> Matrix:
    """Return when the control's first, second ... run was, on average over the evaluators."""
    ordered = own.sort_values("given_at", kind="stable")
    place = ordered.groupby("evaluator").cumcount()
    return ordered.groupby(place)["hours"].mean().to_numpy(dtype=float)


def _corrected(rows: pd.DataFrame, control: str) -> tuple[dict[str, float], dict[str, float]]:
    """Return each set's mean difference to the control, raw and with the drift taken off."""
    found: dict[str, list[tuple[float, float]]] = {}
    for _, each in rows.groupby(["evaluator", "condition"], sort=True):
        own = each[each["set"] == control]
        if len(own) < 2:
            continue
        time, level = (own[name].to_numpy(dtype=float) for name in ("hours", "score"))
        for code, others in each[each["set"] != control].groupby("set", sort=True):
            given = others["score"].to_numpy(dtype=float)
            freed = correct_for_drift(others["hours"].to_numpy(dtype=float), given, time, level)
            if freed is not None:
                raw, corrected = given.mean(), freed.corrected.mean()
                found.setdefault(str(code), []).append(
                    (float(raw - level.mean()), float(corrected - level.mean()))
                )
    means = {code: np.mean(pairs, axis=0) for code, pairs in found.items()}
    return (
        {code: float(pair[0]) for code, pair in means.items()},
        {code: float(pair[1]) for code, pair in means.items()},
    )


def _measured(found: Measured) -> list[DriftFinding]:
    told = []
    for finding in found.findings:
        if finding.key != "leq_a" or finding.channel != EARS:
            continue
        own = finding.of_set(finding.control)
        if own.runs < 2:
            continue
        time = np.arange(1.0, own.runs + 1)
        drift = control_drift(time, np.array(own.by_run), SUSPECT_DB)
        told.append(
            DriftFinding(
                "measured",
                finding.condition,
                own.unit,
                "runs",
                tuple(time.tolist()),
                own.by_run,
                drift,
                drift.is_suspect,
                _jump_words(drift, own.unit, SUSPECT_DB),
            )
        )
    return told


def _slope_words(drift: ControlDrift, length: float, evaluators: int, *, is_clear: bool) -> str:
    if drift.slope is None or drift.slope_lower is None or drift.slope_upper is None:
        return drift.reason
    change, low, high = (
        signed(each * length, 1) for each in (drift.slope, drift.slope_lower, drift.slope_upper)
    )
    people = counted(evaluators, "evaluator")
    what = "The control's score moved" if is_clear else "No clear drift of the control's score"
    return f"{what}: {change} points over a session ({low} to {high}; {people})."


def _jump_words(drift: ControlDrift, unit: str, limit: float) -> str:
    runs = f"{counted(drift.runs, 'run')} of the control"
    if drift.range is None:
        return drift.reason
    size = f"{drift.range:.1f} {unit}"
    if drift.is_suspect:
        return f"{runs} lie {size} apart, more than {limit:g}: look before you trust this day."
    return f"{runs} lie {size} apart, within the {limit:g} that is allowed."
