"""Which set is preferred? One block per attribute, with the sentence that says what it means."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from ratings.findings.numbered_choices import NumberedChoices, number_choices
from ratings.findings.preference_conditions import ConditionPreference, condition_preferences
from ratings.findings.preference_words import Judged, preference_notes, preference_sentence
from ratings.statistics.adjusted_p import holm
from ratings.statistics.preference.choice_agreement import ChoiceAgreement, choice_agreement
from ratings.statistics.preference.pair_counts import FIRST, NONE, SECOND, PairCounts
from ratings.statistics.preference.panel_flips import pair_p, panel_p
from ratings.statistics.preference.thurstone import ThurstoneScale, thurstone_case_five
from ratings.statistics.preference.triads import (
    Consistency,
    TransitivityViolations,
    clearest_circle,
    consistency,
    transitivity_violations,
)
from ratings.statistics.preference.worth import Worths, fit_worths

if TYPE_CHECKING:
    import pandas as pd

Matrix = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class EvaluatorChoices:
    """One evaluator's consistency."""

    evaluator: str
    consistency: Consistency


@dataclass(frozen=True, slots=True)
class AttributePreference:
    """What one attribute's choices say.

    Attributes
    ----------
    attribute
        As in the choice table; None when it has no such column.
    sets, evaluators
        Names; sets in alphabetical order, the first fixed at 0.
    choices, no_difference, missing
        Choices counted, those among them that said "no difference", and empty ones.
    null_pairs, null_pairs_told_apart
        Pairs of a set with itself, left out of everything else, and how often one side of them
        was preferred all the same.
    chosen, compared
        How often each set was chosen, and in how many answers it stood, shape (sets,).
    worths
        Log worths; without a maximum of the likelihood, which `worths.reason` says, penalised.
    panel_p, p_holm
        Whether the panel prefers any set, the evaluators' own tastes allowed for, and the same
        adjusted for the attributes (Holm); None when nobody decided anything.
    places
        The same on Thurstone's scale, without ties and order.
    agreement
        Kendall's u over the panel.
    transitivity
        Triples of sets whose majorities contradict each other.
    evaluators_detail
        One per evaluator.
    judged
        What the sentence is made of: also a circle, and whether the preference depends on the
        condition.
    sentence, notes
        What the figures mean, and what a reader must know beside them.
    """

    attribute: str | None
    sets: tuple[str, ...]
    evaluators: tuple[str, ...]
    choices: int
    no_difference: int
    missing: int
    null_pairs: int
    null_pairs_told_apart: int
    chosen: Matrix
    compared: Matrix
    worths: Worths
    panel_p: float | None
    p_holm: float | None
    places: ThurstoneScale
    agreement: ChoiceAgreement
    transitivity: TransitivityViolations
    evaluators_detail: tuple[EvaluatorChoices, ...]
    judged: Judged
    sentence: str
    notes: tuple[str, ...]


def preferences(choice_table: "pd.DataFrame") -> tuple[AttributePreference, ...]:
    """Judge the choices on every attribute.

    Parameters
    ----------
    choice_table
        As `ratings.study.choice_table.read_choice_table` returns it. Repeats and conditions are
        taken together.

    Returns
    -------
    tuple of AttributePreference
        In the order in which attributes first occur.
    """
    tables = number_choices(choice_table)
    alone = [panel_p(numbered.votes()) for numbered in tables]
    adjusted = iter(holm([p for p in alone if p is not None]).tolist())
    together = [None if p is None else float(next(adjusted)) for p in alone]
    attributes = sum(p is not None for p in alone)
    return tuple(
        _block(numbered, p, p_holm, attributes, found)
        for numbered, p, p_holm, found in zip(
            tables, alone, together, condition_preferences(tables), strict=True
        )
    )


def _block(
    numbered: NumberedChoices,
    p: float | None,
    p_holm: float | None,
    attributes: int,
    conditions: ConditionPreference,
) -> AttributePreference:
    pairs = numbered.pairs()
    worths, order_note = _worths(pairs, numbered.pairs_by_evaluator())
    votes = numbered.votes()
    judged = _judged(numbered, worths, p_holm, attributes, conditions)
    null_pair = (numbered.first == numbered.second) & (numbered.choice >= 0)
    heard = pairs.wins()
    ties = np.zeros(pairs.sets)
    for side in (pairs.first, pairs.second):
        np.add.at(ties, side, pairs.counts[:, NONE])
    return AttributePreference(
        attribute=numbered.attribute,
        sets=numbered.sets,
        evaluators=numbered.evaluators,
        choices=judged.choices,
        no_difference=judged.no_difference,
        missing=int((numbered.choice < 0).sum()),
        null_pairs=int(null_pair.sum()),
        null_pairs_told_apart=int((null_pair & (numbered.choice != NONE)).sum()),
        chosen=heard.sum(axis=1),
        compared=heard.sum(axis=1) + heard.sum(axis=0) + ties,
        worths=worths,
        panel_p=p,
        p_holm=p_holm,
        places=thurstone_case_five(pairs),
        agreement=choice_agreement(votes),
        transitivity=transitivity_violations(heard),
        evaluators_detail=tuple(
            EvaluatorChoices(name, consistency(votes[index]))
            for index, name in enumerate(numbered.evaluators)
        ),
        judged=judged,
        sentence=preference_sentence(judged),
        notes=preference_notes(numbered, worths, null_pair, order_note, attributes),
    )


def _judged(
    numbered: NumberedChoices,
    worths: Worths,
    p_holm: float | None,
    attributes: int,
    conditions: ConditionPreference,
) -> Judged:
    """Gather what the sentence is made from."""
    counts, votes = numbered.pairs().counts, numbered.votes()
    between = None if worths.edge is None else votes[np.ix_(range(len(votes)), *[worths.edge] * 2)]
    return Judged(
        worths,
        numbered.sets,
        p_holm,
        attributes,
        int(votes.any(axis=(1, 2)).sum()),
        choices=int(counts.sum()),
        no_difference=int(counts[:, NONE].sum()),
        edge_p=None if between is None else panel_p(between),
        edge_evaluators=0 if between is None else int(between.any(axis=(1, 2)).sum()),
        steps_p=_steps_p(worths, votes),
        circle=clearest_circle(votes),
        conditions=conditions,
    )


def _steps_p(worths: Worths, votes: Matrix) -> float | None:
    """Judge the least certain step of the one order: claimed is each; None without an order."""
    found = [pair_p(votes, *step) for step in pairwise(worths.in_order)]
    return max((p for p in found if p is not None), default=None)


def _worths(pairs: PairCounts, own: Sequence[PairCounts]) -> tuple[Worths, str]:
    """Fit the order effect where the design lets it be seen, and say why not where it does not.

    Most pairs heard in both orders is our threshold: with one order each, the effect would hang
    on the worths being on one scale.
    """
    both, heard = pairs.pairs_in_both_orders()
    if not 2 * both > heard:
        return fit_worths(
            pairs, by_evaluator=own
        ), "Most pairs came in one order only: no order effect is told."
    decided = pairs.counts[:, (FIRST, SECOND)].sum(axis=0)
    if not decided.any():
        return fit_worths(pairs, by_evaluator=own), ""
    if not decided.all():
        place = "first" if decided[0] else "second"
        return fit_worths(pairs, by_evaluator=own), (
            f"Every choice fell on the set named {place}, as if the table named the winner there: "
            "no order effect is told."
        )
    ordered = fit_worths(pairs, order=True, by_evaluator=own)
    if ordered.reason:
        without = fit_worths(pairs, by_evaluator=own)
        if not without.reason:
            return without, "The order effect cannot be told from these choices."
    return ordered, ""
