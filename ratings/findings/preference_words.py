"""The sentences of preference."""

import math

import numpy as np
import numpy.typing as npt

from ratings.findings.numbered_choices import NumberedChoices
from ratings.statistics.distributions import t_quantile
from ratings.statistics.preference.pair_counts import NONE
from ratings.statistics.preference.worth import Worths
from ratings.study.wording import listed

#: Significance at which a preference is said to be one.
ALPHA = 0.05


def preference_sentence(
    worths: Worths,
    sets: tuple[str, ...],
    p: float | None,
    attributes: int,
    evaluators: int,
    edge_p: float | None,
    steps_p: float | None,
) -> str:
    """Say which set is preferred, or why nobody can tell.

    Parameters
    ----------
    p
        That the panel prefers none, the evaluators' own tastes allowed for, adjusted for the
        attributes.
    attributes
        How many were asked about.
    evaluators
        How many decided anything.
    edge_p
        That the panel prefers neither of the two sets of `Worths.edge`, for this attribute alone;
        None if they never met.
    steps_p
        The largest such p over the steps of `Worths.in_order`; None without.
    """
    if evaluators == 1:
        return "One evaluator alone cannot stand for a panel."
    chance = _chance(p, attributes)
    if p is not None and p > ALPHA and not (worths.reason and not worths.above):
        # No exchange of signs is rarer than this.
        rarest = min(1.0, attributes * 2.0 ** (1 - evaluators))
        few = f"; {evaluators} evaluators are too few for a claim" if rarest > ALPHA else ""
        return f"No set is preferred: chance alone gives choices like these{chance}{few}."
    if worths.log_worth is None or p is None:
        if not worths.above:
            return worths.reason
        ahead = _ahead(worths, sets, steps_p, attributes)
        return f"{ahead}{chance}; {_edge(worths, sets, edge_p, attributes)}."
    order = np.argsort(-worths.log_worth, kind="stable")
    best, following, last = (int(order[place]) for place in (0, 1, -1))
    ends = f"{sets[best]} is preferred most{chance}"
    if len(sets) > 2:
        ends = f"{sets[best]} is preferred most and {sets[last]} least{chance}"
    return f"{ends}; {_lead(worths, best, following, sets, attributes)}."


def _ahead(worths: Worths, sets: tuple[str, ...], steps_p: float | None, attributes: int) -> str:
    if len(sets) > 2 and steps_p is not None and steps_p * attributes <= ALPHA:
        return f"{', then '.join(sets[index] for index in worths.in_order)}, without exception"
    verb = "was" if len(worths.above) == 1 else "were"
    top = listed([sets[index] for index in worths.above])
    return f"{top} {verb} never passed over for any other set"


def _edge(worths: Worths, sets: tuple[str, ...], p: float | None, attributes: int) -> str:
    if worths.edge is None or worths.penalised is None:
        return "how far ahead cannot be told"
    one, other = worths.edge
    if p is None or p * attributes > ALPHA:
        return f"the lead over {sets[other]} may be chance"
    share = 1 / (1 + math.exp(worths.penalised[other] - worths.penalised[one]))
    return (
        f"of 100 decisions between {sets[one]} and {sets[other]}, about {100 * share:.0f} would "
        f"fall on {sets[one]} (penalised estimate)"
    )


def _lead(worths: Worths, best: int, following: int, sets: tuple[str, ...], attributes: int) -> str:
    ahead, error = worths.lead(best, following)
    # Of two sets the panel's claim is the lead.
    surely = 1 - ALPHA / attributes / 2
    if len(sets) > 2 and ahead <= t_quantile(surely, max(worths.evaluators - 1, 1)) * error:
        return f"its lead over {sets[following]} may be chance"
    share = 1 / (1 + math.exp(-ahead))
    return f"of 100 decisions between it and {sets[following]}, {100 * share:.0f} would fall on it"


def preference_notes(
    choices: NumberedChoices,
    worths: Worths,
    null_pair: npt.NDArray[np.bool_],
    order_note: str,
    attributes: int,
) -> tuple[str, ...]:
    """Say what the figures leave out or take for granted; `attributes` are noted about."""
    notes = [order_note] if order_note else []
    missing = int((choices.choice < 0).sum())
    if missing:
        notes.append(f"Empty choices passed over: {missing}.")
    if null_pair.any():
        told_apart = int((null_pair & (choices.choice != NONE)).sum())
        notes.append(
            f"Null pairs left out: {int(null_pair.sum())}; in {told_apart} of them one side was "
            "preferred all the same."
        )
    if choices.conditions > 1:
        notes.append(f"{choices.conditions} conditions are taken together.")
    fit_p = None if worths.fit is None else worths.fit.p
    if fit_p is not None and fit_p * attributes < ALPHA:
        notes.append(f"One scale does not describe these choices well{_chance(fit_p)}.")
    if worths.penalised is not None:
        notes.append(
            "The log worths are penalised (Firth): without the penalty they would be endless."
        )
    if worths.choices > len(choices.evaluators):
        notes.append(
            "Standard errors take every choice for independent; several of one evaluator are not. "
            "The sentence allows for it, the table does not."
        )
    return tuple(notes)


def _chance(p: float | None, attributes: int = 1) -> str:
    if p is None:
        return ""
    among = f" among {attributes} attributes" if attributes > 1 else ""
    return f" (p below 0.0001{among})" if p < 0.0001 else f" (p {p:.2g}{among})"
