"""What a reader must know before any finding: what is missing, doubtful, or not as planned."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ratings.findings.agreement import AttributeAgreement
from ratings.findings.differences import AttributeDifferences
from ratings.findings.measured_study import MeasuredStudy
from ratings.findings.name_order import by_number
from ratings.findings.verdict.control_drift import DriftFinding
from ratings.findings.verdict.rows import Caution, SetVerdict
from ratings.storage.verdict_desk import PLANNED_EVALUATORS, SettingChange
from ratings.study.study_settings import PLACES
from ratings.study.wording import counted, listed, lowered, raised

if TYPE_CHECKING:
    import pandas as pd

#: So many runs, evaluators or cells are named; the rest are counted.
_MOST_NAMED = 4
#: With fewer a panel is thin (our judgement).
_FEW_EVALUATORS = 5


#: What voids a verdict comes first, then what weakens it, then what is good to know.
_GRAVITY = (
    "no scores",
    "after the opening",
    "control drift",
    "failed",
    "changed late",
    "no plan",
    "more than planned",
    "void clips",
    "ear and meter",
    "disagreement",
    "unfinished",
    "small panel",
    "two kinds of scores",
    "flagged evaluator",
)


def gravity(caution: Caution) -> int:
    """Return where a caution stands among others, the gravest first."""
    subject = caution.subject
    return _GRAVITY.index(subject) if subject in _GRAVITY else len(_GRAVITY)


@dataclass(frozen=True, slots=True)
class Seat:
    """How far a session has got.

    Attributes
    ----------
    code
        Of its evaluator.
    locked_count, pair_count
        Pairs that are closed, of all.
    is_begun
        Whether anything is kept of it.
    """

    code: str
    locked_count: int
    pair_count: int
    is_begun: bool = True

    @property
    def is_finished(self) -> bool:
        """Whether every pair is closed."""
        return self.locked_count == self.pair_count


def panel_cautions(
    scores: pd.DataFrame,
    blocks: Sequence[AttributeDifferences],
    seats: Sequence[Seat],
    planned: int | None,
    finished: int,
) -> list[Caution]:
    """Say what is to be known of the scores; `finished` evaluators count."""
    told = []
    unfinished = [seat for seat in seats if not seat.is_finished]
    begun = [
        f"{s.code} ({s.locked_count} of {s.pair_count} pairs)" for s in unfinished if s.is_begun
    ]
    if begun:
        are = "has not finished and is" if len(begun) == 1 else "have not finished and are"
        told.append(Caution("unfinished", f"{_some(begun)} {are} not counted yet."))
    waiting = [seat.code for seat in unfinished if not seat.is_begun]
    if waiting:
        does = "has" if len(waiting) == 1 else "have"
        told.append(Caution("not begun", f"{_some(waiting)} {does} a seat and {does} not begun."))
    if planned is not None and finished > planned:
        sentence = f"{counted(finished, 'evaluator')} finished, {planned} were planned."
        told.append(Caution("more than planned", sentence))
    if not finished:
        told.append(Caution("no scores", "No evaluator has finished yet."))
    elif finished < _FEW_EVALUATORS:
        told.append(Caution("small panel", f"{counted(finished, 'evaluator')} only."))
    flagged: dict[str, tuple[str, ...]] = {}
    for block in blocks:
        flagged |= dict(block.flagged)
    for name, reasons in sorted(flagged.items(), key=lambda each: by_number(each[0])):
        told.append(
            Caution(
                "flagged evaluator",
                f"{name} is flagged, and counted all the same: {'; '.join(reasons)}.",
                f"{name} is flagged, and counted all the same.",
            )
        )
    told += _late(scores)
    driven = int((scores["origin"] == "driven").sum()) if "origin" in scores else 0
    if 0 < driven < len(scores):
        told.append(
            Caution(
                "two kinds of scores",
                f"{counted(driven, 'score')} {_were(driven)} given driving and "
                f"{len(scores) - driven} listening; they are taken together.",
            )
        )
    return told


def _late(scores: pd.DataFrame) -> list[Caution]:
    """Name the scores that were given when the names were known."""
    if "after_opening" not in scores or not scores["after_opening"].any():
        return []
    late = scores.loc[scores["after_opening"], "evaluator"]
    names = sorted(set(late), key=by_number)
    are = "was" if len(late) == 1 else "were"
    sentence = (
        f"{counted(len(late), 'score')} by {_some(names)} {are} given after the key was opened: "
        "not blind."
    )
    return [Caution("after the opening", sentence)]


def deviation_cautions(changes: Iterable[SettingChange]) -> list[Caution]:
    """Say what of the plan was changed when scores were in sight."""
    told = []
    for each in changes:
        if not each.scores_then or each.what in PLACES:
            continue
        sentence = (
            f"{raised(each.what)} changed from {each.before} to {each.after} "
            f"when {counted(each.scores_then, 'score')} {_were(each.scores_then)} given"
        )
        if each.what == PLANNED_EVALUATORS:
            sentence += ": the words hold only if that number was fixed before anybody looked"
        told.append(Caution("changed late", f"{sentence}."))
    return told


def meter_cautions(sets: Iterable[SetVerdict]) -> list[Caution]:
    """Name what is clear to the panel and denied by the measurement."""
    apart = [
        f"{row.name.lower()} of {each.name}"
        for each in sets
        for row in each.rows
        if row.overall.word == "clear" and row.beside.says == "otherwise"
    ]
    if not apart:
        return []
    return [Caution("ear and meter", f"The measurement says otherwise on {_some(apart)}.")]


def disagreement_cautions(
    agreements: Iterable[AttributeAgreement], names: dict[str, str], differing: Collection[str]
) -> list[Caution]:
    """Name the attributes on which the panel does not agree although sets may differ on them."""
    apart = [
        names.get(block.attribute, block.attribute).lower()
        for block in agreements
        if block.condition is None and block.agrees is False and not block.agrees_in
        if block.attribute in differing
    ]
    if not apart:
        return []
    sentence = f"The panel does not agree on the order of the sets on {listed(apart)}."
    return [Caution("disagreement", sentence)]


def run_cautions(study: MeasuredStudy, names: Mapping[str, str]) -> list[Caution]:
    """Say what is to be known of the runs; `names` of the sets once the key is open."""

    def called(code: str) -> str:
        return names.get(code, code)

    told = []
    void = [run for run in study.runs if run.worst == "void"]
    if void:
        those = [f"{called(run.set_code)} on {run.condition.title}, run {run.run}" for run in void]
        are = "is" if len(void) == 1 else "are"
        told.append(
            Caution("void runs", f"{len(void)} void {are} left out of the figures: {_some(those)}.")
        )
        heard = [run for run in void if run.recording_id in study.heard]
        if heard:
            codes = sorted({called(run.set_code) for run in heard}, key=by_number)
            told.append(
                Caution("void clips", f"The panel hears clips of void runs of {_some(codes)}.")
            )
    doubtful = sum(run.worst == "doubtful" for run in study.runs)
    if doubtful:
        are = "is" if doubtful == 1 else "are"
        told.append(
            Caution("doubtful runs", f"{counted(doubtful, 'run')} {are} doubtful, and counted.")
        )
    waiting = len(study.waiting)
    if waiting:
        are = "is" if waiting == 1 else "are"
        told.append(
            Caution("not measured", f"{waiting} of {len(study.runs)} runs {are} not measured.")
        )
    missing = [
        f"{called(code)} on {condition.title}"
        for code in study.codes
        for condition in study.conditions
        if not study.of(code, condition.title)
    ]
    if missing and study.runs:
        told.append(Caution("missing runs", f"No run of {_some(missing)}."))
    if study.has_failed:
        told.append(
            Caution("failed", "A comparison of the runs failed: a fault of the program, logged.")
        )
    return told


def drift_cautions(drifts: Sequence[DriftFinding]) -> list[Caution]:
    """Say where the control did not stay what it was."""
    return [
        Caution("control drift", f"{each.subject}: {lowered(each.sentence)}")
        for each in drifts
        if each.is_suspect
    ]


def _were(number: int) -> str:
    return "was" if number == 1 else "were"


def _some(names: Sequence[str]) -> str:
    """Name the first few and count the others."""
    if len(names) <= _MOST_NAMED + 1:
        return listed(names)
    return f"{', '.join(names[:_MOST_NAMED])} and {len(names) - _MOST_NAMED} more"
