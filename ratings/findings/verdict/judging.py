"""The verdict of a study: everything that its page, its command and its report show."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ratings.findings.agreement import AttributeAgreement, agreement
from ratings.findings.differences import AttributeDifferences, differences
from ratings.findings.enough import Enough, enough
from ratings.findings.measured_study import Attempt, do
from ratings.findings.name_order import by_number
from ratings.findings.verdict.beside import Beside, beside
from ratings.findings.verdict.cautions import (
    deviation_cautions,
    disagreement_cautions,
    drift_cautions,
    gravity,
    meter_cautions,
    panel_cautions,
    run_cautions,
)
from ratings.findings.verdict.cells import Cell, CellRow, Word, cell_rows
from ratings.findings.verdict.control_drift import DriftFinding, control_drifts
from ratings.findings.verdict.ear_meter import EarMeter, ear_meter
from ratings.findings.verdict.question import Question, read_question
from ratings.findings.verdict.rows import Caution, Row, SetVerdict
from ratings.findings.verdict.words import headline, noticed_words, row_sentence, set_sentence
from ratings.storage.verdict_desk import PLANNED_EVALUATORS
from ratings.study.attributes import Attribute
from ratings.study.wording import counted

if TYPE_CHECKING:
    import pandas as pd

    from ratings.storage.study_folder import Study

#: What sentences call the control.
CONTROL = "the control"
#: Marks what stands where the panel does not agree.
DISAGREEMENT = "The panel does not agree on the order of the sets here."
_LATER = "conditions are judged when all have finished"
_NO_PLAN = (
    Caution(
        "no plan",
        "No number of evaluators was planned: the words hold if it was fixed before anybody "
        "looked.",
    ),
)
#: Words of a set that may differ: where the order of the sets is asked after.
_DIFFERING = ("clear", "by condition", "not certain")
_IF_FIXED = ", if their number was fixed before anybody looked"
_UNPLANNED = (
    "No number of evaluators was planned, so that whether it is enough cannot be told: say before "
    "the first look how many there will be."
)
_LOOK_WORDS: Mapping[str, Word] = {
    "settled: better": "clear",
    "settled: worse": "clear",
    "settled: too small to matter": "too small to matter",
    "open": "not certain",
    "too few": "no verdict",
}


@dataclass(frozen=True, slots=True, eq=False)
class StudyVerdict:
    """What can be said of every set, and what it stands on.

    Attributes
    ----------
    is_final
        Whether the final verdict holds; else what holds at every look stands in its place.
    headline
        The finding.
    standing
        What it rests on: panel, sets, conditions, and how claims are adjusted.
    cautions
        To be read before any finding.
    sets
        Every candidate, in the order of their codes.
    conditions
        In which scores were given, in the order of the plan.
    evaluators
        Whose scores count.
    enough
        Whether more evaluators are wanted; None without two evaluators.
    ears_and_meters
        Points per decibel, for attributes with a measured figure.
    drifts
        The control over sessions, days and runs.
    differences, agreements
        The figures behind it.
    """

    question: Question
    is_final: bool
    headline: str
    standing: str
    cautions: tuple[Caution, ...]
    sets: tuple[SetVerdict, ...]
    conditions: tuple[str, ...]
    evaluators: tuple[str, ...]
    enough: Enough | None
    ears_and_meters: tuple[EarMeter, ...]
    drifts: tuple[DriftFinding, ...]
    differences: tuple[AttributeDifferences, ...]
    agreements: tuple[AttributeAgreement, ...]

    def name_of(self, code: str) -> str:
        """Return what a set is called: its name once the key is open, else its code."""
        return self.question.names.get(code, code)

    def of(self, code: str) -> SetVerdict:
        """Return the verdict on a set; KeyError when there is none."""
        for each in self.sets:
            if each.code == code:
                return each
        raise KeyError(code)


def judge(question: Question, attempt: Attempt = do) -> StudyVerdict:
    """Work the verdict out.

    Parameters
    ----------
    attempt
        How each part is done that the others can do without; by default what fails is raised.
    """
    counted_scores = _of_finished(question)
    blocks = _differences(question, counted_scores)
    agreements = agreement(counted_scores, question.scale) if len(counted_scores) else ()
    looks = attempt(lambda: _looks(question), None)
    is_final = _is_final(question, looks)
    grounds = _Grounds(
        question,
        cell_rows(blocks),
        blocks,
        agreements,
        None if is_final else looks,
        _rated(question, counted_scores),
    )
    sets = tuple(
        grounds.set_verdict(code)
        for code in sorted(set(question.codes) - {question.control}, key=by_number)
    )
    called = {each.key: each.name for each in question.attributes}
    found = None if question.measured is None else question.measured.found
    limit = question.settings.limits.drift_points
    no_drifts: tuple[DriftFinding, ...] = ()
    drifts = attempt(
        lambda: control_drifts(question.scores, question.control, called, found, limit),
        no_drifts,
    )
    cautions = [
        *(_NO_PLAN if looks and looks.analysis == "no plan" and is_final else ()),
        *deviation_cautions(question.changes),
        *panel_cautions(
            question.scores,
            blocks,
            question.seats,
            question.settings.planned_evaluators,
            len(question.finished),
        ),
        *(run_cautions(question.measured, question.names) if question.measured is not None else ()),
        *meter_cautions(sets),
        *disagreement_cautions(agreements, called, _open_attributes(sets)),
        *drift_cautions(drifts),
    ]
    return StudyVerdict(
        question=question,
        is_final=is_final,
        headline=_headline(question, sets, is_final=is_final),
        standing=_standing(question, counted_scores, is_final=is_final),
        cautions=tuple(sorted(cautions, key=gravity)),
        sets=sets,
        conditions=_rated_conditions(question, counted_scores),
        evaluators=tuple(sorted(question.finished, key=by_number)),
        enough=looks,
        ears_and_meters=attempt(lambda: _ears_and_meters(question, agreements), ()),
        drifts=drifts,
        differences=blocks,
        agreements=agreements,
    )


def study_verdict(study: Study, attempt: Attempt = do) -> StudyVerdict:
    """Read a study and work its verdict out; see `read_question` for what it raises."""
    return judge(read_question(study, attempt), attempt)


def _headline(question: Question, sets: Sequence[SetVerdict], *, is_final: bool) -> str:
    if not is_final:
        words = {row.overall.word for each in sets for row in each.rows}
        if not words & {"clear", "too small to matter"}:
            return f"Nothing is settled yet: {_how_far(question)} finished."
    return headline(sets, CONTROL, question.settings.limits, is_final=is_final)


def _is_planned(question: Question) -> bool:
    """Tell whether the number of evaluators was fixed before anybody had rated."""
    late = any(each.scores_then and each.what == PLANNED_EVALUATORS for each in question.changes)
    return question.settings.planned_evaluators is not None and not late


def _open_attributes(sets: Sequence[SetVerdict]) -> set[str]:
    """Return the attributes on which some set is not simply within the limit."""
    return {
        row.attribute
        for each in sets
        for row in each.rows
        if row.overall.word not in ("too small to matter", "no verdict")
    }


def _how_far(question: Question) -> str:
    done, planned = len(question.finished), question.settings.planned_evaluators
    have = "has" if done == 1 else "have"
    return f"{counted(done, 'evaluator') if planned is None else f'{done} of {planned}'} {have}"


def _is_final(question: Question, looks: Enough | None) -> bool:
    """Tell whether the final verdict holds: as planned, or without a plan when nobody is at it.

    A plan that grows with each evaluator who begins is none, so that seats do not count as one.
    """
    if looks is None or looks.analysis == "final":
        return True
    return looks.analysis == "no plan" and not question.is_under_way


def _of_finished(question: Question) -> pd.DataFrame:
    scores = question.scores
    return scores[scores["evaluator"].isin(question.finished)]


def _differences(question: Question, scores: pd.DataFrame) -> tuple[AttributeDifferences, ...]:
    if question.control not in scores["set"].unique():
        return ()
    return differences(scores, question.control, question.scale, question.settings.limits.matters)


def _looks(question: Question) -> Enough | None:
    scores, names = question.scores, question.names
    if question.control not in scores["set"].unique():
        return None
    found = enough(
        scores.assign(set=scores["set"].map(lambda code: names.get(code, code))),
        question.finished,
        names.get(question.control, question.control),
        question.scale,
        question.settings.limits.matters,
        question.settings.planned_evaluators,
    )
    if found.analysis == "final" and not _is_planned(question):
        found = replace(found, headline=f"{found.headline.rstrip('.')}{_IF_FIXED}.")
    if found.analysis == "no plan" and not question.is_under_way:
        found = replace(found, headline=_UNPLANNED)
    codes = {name: code for code, name in names.items()}
    rows = tuple(replace(row, set=codes.get(row.set, row.set)) for row in found.rows)
    return replace(found, control=question.control, rows=rows)


def _rated(question: Question, scores: pd.DataFrame) -> dict[str, tuple[str, ...]]:
    if "condition" not in scores:
        return {}
    found: dict[str, set[str]] = {}
    pairs = scores[["attribute", "condition"]].drop_duplicates()
    for key, title in pairs.itertuples(index=False, name=None):
        found.setdefault(key, set()).add(title)
    return {
        key: tuple(title for title in question.conditions if title in titles)
        for key, titles in found.items()
    }


def _rated_conditions(question: Question, scores: pd.DataFrame) -> tuple[str, ...]:
    rated = set(scores["condition"].unique()) if "condition" in scores else set()
    return tuple(title for title in question.conditions if title in rated)


@dataclass(frozen=True, slots=True, eq=False)
class _Grounds:
    """Everything that the words of a row stand on.

    Attributes
    ----------
    rated
        Conditions in which each attribute was rated, in the order of the plan.
    looks
        What holds at every look, while that stands in place of the final verdict; else None.
    """

    question: Question
    rows: Mapping[tuple[str, str], CellRow]
    blocks: Sequence[AttributeDifferences]
    agreements: Sequence[AttributeAgreement]
    looks: Enough | None
    rated: Mapping[str, tuple[str, ...]]

    @property
    def all_rated(self) -> set[str]:
        """Conditions in which anything was rated."""
        return {title for titles in self.rated.values() for title in titles}

    def set_verdict(self, code: str) -> SetVerdict:
        """Judge a set on every attribute."""
        question = self.question
        told = tuple(self._row(code, attribute) for attribute in question.attributes)
        name = question.names.get(code) or f"set {code}"
        sentence = set_sentence(name, told, question.settings.limits, CONTROL)
        return SetVerdict(code, name, sentence, told)

    def _row(self, code: str, attribute: Attribute) -> Row:
        key, limits = attribute.key, self.question.settings.limits
        cells = self.rows.get((code, key)) or CellRow(self._without_verdict(attribute))
        if self.looks is not None:
            cells = _while_looking(cells, self.looks, code, key)
        overall = cells.overall
        titles = self.rated.get(key, ())
        if not cells.by_condition and len(titles) == 1 and len(self.all_rated) > 1:
            # Rated in one of the study's conditions: all there is to say is said of it.
            cells = replace(cells, by_condition=(replace(overall, condition=titles[0]),))
        row = Row(
            key,
            attribute.name,
            cells,
            self._beside(code, key, cells, overall),
            {
                cell.condition: self._beside(code, key, cells, cell)
                for cell in cells.by_condition
                if cell.condition is not None
            },
            self._smallest_detectable(code, key) if self.looks is None else None,
            DISAGREEMENT if self._is_disagreed(key) and overall.word in _DIFFERING else "",
            noticed_words(overall, limits) if overall.word == "clear" else "",
        )
        return replace(row, sentence=row_sentence(row, limits, CONTROL))

    def _smallest_detectable(self, code: str, attribute: str) -> float | None:
        return next(
            (
                each.smallest_detectable
                for block in self.blocks
                if block.attribute == attribute
                for each in block.differences
                if each.set == code
            ),
            None,
        )

    def _without_verdict(self, attribute: Attribute) -> Cell:
        """Say why an attribute of a set has no figures at all."""
        if not len(self.question.scores):
            reason = "Nobody has rated yet."
        elif not self.question.finished:
            reason = "No evaluator has finished yet."
        elif not self.blocks:
            reason = "The control has no score."
        elif attribute.key not in {block.attribute for block in self.blocks}:
            reason = "Nobody rated it."
        else:
            reason = "Nobody rated this set on it."
        return Cell(None, "no verdict", 0, reason=reason)

    def _beside(self, code: str, attribute: str, cells: CellRow, cell: Cell) -> Beside:
        question = self.question
        figure = question.settings.attribute_figures.get(attribute) or ""
        if question.measured is None:
            return Beside(figure, "cannot tell", "nothing was recorded")
        titles = [each.condition for each in cells.by_condition if each.condition is not None]
        titles = titles or list(self.rated.get(attribute, question.conditions))
        return beside(question.measured.found, figure, code, titles, cell)

    def _is_disagreed(self, attribute: str) -> bool:
        whole = (b for b in self.agreements if b.attribute == attribute and b.condition is None)
        block = next(whole, None)
        return block is not None and block.agrees is False and not block.agrees_in


def _while_looking(cells: CellRow, looks: Enough, code: str, attribute: str) -> CellRow:
    """Put what holds at any look in place of what holds at the end only."""
    look = next((r for r in looks.rows if (r.attribute, r.set) == (attribute, code)), None)
    if look is None or cells.overall.word == "no verdict":
        return cells
    word = _LOOK_WORDS[look.state]
    margin = looks.margin
    if look.is_settled and look.lower is not None and look.upper is not None:
        is_small = -margin < look.lower and look.upper < margin
        word = "too small to matter" if is_small else word
    overall = replace(
        cells.overall,
        word=word,
        difference=look.difference,
        lower=look.lower,
        upper=look.upper,
        evaluators=look.evaluators,
        reason=look.sentence if word == "no verdict" else "",
        without_flagged=None,
    )
    single = tuple(
        replace(cell, word="not certain", reason=_LATER) if cell.word != "no verdict" else cell
        for cell in cells.by_condition
    )
    return CellRow(overall, single)


def _standing(question: Question, scores: pd.DataFrame, *, is_final: bool) -> str:
    people = counted(len(question.finished), "evaluator")
    candidates = len(question.codes) - 1
    attributes = scores["attribute"].nunique()
    conditions = counted(len(_rated_conditions(question, scores)), "condition")
    interval = "95 % interval" if is_final else "an interval that holds at every look"
    told = [
        f"Difference to the control in score points with {interval}; {people}, "
        f"{counted(candidates, 'set')} beside the control, {conditions}."
    ]
    if is_final and (candidates > 1 or attributes > 1):
        told.append(
            f"Clear: at 5 % after adjusting for {counted(candidates, 'set')} and "
            f"{counted(attributes, 'attribute')}"
            f"{'' if _is_planned(question) else _IF_FIXED}."
        )
    if not question.names:
        told.append("Sets stay coded until the key is opened.")
    return " ".join(told)


def _ears_and_meters(
    question: Question, agreements: Sequence[AttributeAgreement]
) -> tuple[EarMeter, ...]:
    if question.measured is None:
        return ()
    found = question.measured.found
    told = [
        ear_meter(block, attribute.name, figure, found)
        for attribute in question.attributes
        if (figure := question.settings.attribute_figures.get(attribute.key))
        for block in agreements
        if block.attribute == attribute.key and block.condition is None
    ]
    return tuple(each for each in told if each is not None)
