"""The sentences of the verdict."""

from collections.abc import Iterable, Sequence
from typing import Literal, Protocol

from ratings.statistics.distributions import t_quantile
from ratings.statistics.planning.claim_power import FEWEST_TO_CLAIM
from ratings.study.constants import ALPHA
from ratings.study.wording import listed

Verdict = Literal["better", "worse", "same", "by condition", "not certain", "unknown"]

#: With fewer, the sentence says how many they are (our judgement).
_FEW_EVALUATORS = 5
#: Two one-sided tests at 5 % are the same as this interval inside the margin (Schuirmann DJ (1987)
#: J. Pharmacokinet. Biopharm. 15:657-680; from memory).
_TESTED_PART = 0.95


class InCondition(Protocol):
    """What a sentence needs to know of one set in one condition."""

    @property
    def condition(self) -> str:
        """Title of the condition."""

    @property
    def difference(self) -> float:
        """Set minus control in score points."""

    @property
    def lower(self) -> float:
        """Lower bound of the 95 % interval."""

    @property
    def upper(self) -> float:
        """Upper bound of the 95 % interval."""

    @property
    def p_own(self) -> float | None:
        """By its own scatter, where that is more than the common error allows for."""

    @property
    def p_holm(self) -> float | None:
        """Adjusted; None where nothing is claimed by condition."""


class Difference(Protocol):
    """What a sentence needs to know of one set."""

    @property
    def set(self) -> str:
        """Name of the set."""

    @property
    def difference(self) -> float | None:
        """Set minus control in score points."""

    @property
    def evaluators(self) -> int:
        """How many rated both this set and the control."""

    @property
    def se(self) -> float | None:
        """Standard error of the difference."""

    @property
    def df(self) -> float | None:
        """Degrees of freedom of t."""

    @property
    def lower(self) -> float | None:
        """Lower bound of the 95 % interval."""

    @property
    def upper(self) -> float | None:
        """Upper bound of the 95 % interval."""

    @property
    def p(self) -> float | None:
        """Unadjusted p."""

    @property
    def p_dunnett(self) -> float | None:
        """Adjusted for the sets compared."""

    @property
    def p_holm(self) -> float | None:
        """Adjusted for the attributes as well."""

    @property
    def p_own(self) -> float | None:
        """By this set's own scatter, where that is more than the common error allows for."""

    @property
    def p_own_holm(self) -> float | None:
        """The same adjusted for the attributes of this set."""

    @property
    def equivalent_p(self) -> float | None:
        """That the difference is smaller than the margin."""

    @property
    def equivalent_own_p(self) -> float | None:
        """The same by this set's own scatter, where that is more."""

    @property
    def is_unheard(self) -> bool:
        """Whether every evaluator scored the set like the control each time."""

    @property
    def by_condition(self) -> Sequence[InCondition]:
        """In each condition, when there are several."""

    @property
    def smallest_detectable(self) -> float | None:
        """What this panel would claim four times in five."""


class Attribute(Protocol):
    """What the headline needs to know of one attribute."""

    @property
    def attribute(self) -> str:
        """Name of the attribute."""

    @property
    def control(self) -> str:
        """Name of the control."""

    @property
    def differences(self) -> Sequence[Difference]:
        """One per set."""


def claimed_p(difference: Difference) -> float | None:
    """Return the p that a claim must pass: adjusted for the sets, and for the attributes if known.

    One p for the word of a row and for the headline, so that they never contradict each other. It
    must also pass beside the set's own scatter: the common error of all sets is too small for one
    that scatters more, or beside a control that does.
    """
    p = _adjusted_p(difference)
    own = difference.p_own if difference.p_own_holm is None else difference.p_own_holm
    return p if p is None or own is None else max(p, own)


def _adjusted_p(difference: Difference) -> float | None:
    return difference.p_dunnett if difference.p_holm is None else difference.p_holm


def verdict(difference: Difference) -> Verdict:
    """Judge one set on one attribute; a higher score is better, it has less to hear.

    "By condition" where its difference depends on the condition, and the mean over conditions would
    hide what can be claimed in one of them. No such mean is called "same".
    """
    p = claimed_p(difference)
    if p is None or difference.difference is None:
        return "unknown"
    is_panel = difference.evaluators >= FEWEST_TO_CLAIM
    ways = {way for _, way in claims_by_condition(difference)}
    overall: Verdict = "better" if difference.difference > 0 else "worse"
    if p <= ALPHA and is_panel and ways <= {overall}:
        return overall
    if ways:
        return "by condition"
    tests = difference.equivalent_p, difference.equivalent_own_p
    if (
        not _depends(difference)
        and tests[0] is not None
        and max(each or 0.0 for each in tests) <= ALPHA
    ):
        return "same"
    return "not certain"


def claims_by_condition(difference: Difference) -> list[tuple[str, Verdict]]:
    """Return the conditions in which a difference can be claimed, each with its way."""
    if difference.evaluators < FEWEST_TO_CLAIM:
        return []
    return [
        (each.condition, "better" if each.difference > 0 else "worse")
        for each in difference.by_condition
        if _is_clear(each)
    ]


def _is_clear(each: InCondition) -> bool:
    return each.p_holm is not None and each.p_holm <= ALPHA


def _depends(difference: Difference) -> bool:
    """Tell whether the attribute depends on the condition, so that claims are made by condition."""
    return any(each.p_holm is not None for each in difference.by_condition)


def difference_sentence(difference: Difference, margin: float, sets: int, attributes: int) -> str:
    """Say what the figures of one set mean, for somebody who reads nothing else.

    Parameters
    ----------
    margin
        In score points: a smaller difference does not matter.
    sets, attributes
        How many were compared.
    """
    judged = verdict(difference)
    if judged == "unknown":
        return "nothing can be said"
    found = f"{_size(difference)} ({_interval(difference)})"
    if judged == "same":
        return _within_words(difference, margin)
    if judged == "by condition":
        average = found.replace("equal on average", "no difference")
        return f"depends on the condition; on average {average}"
    adjusted = _adjusted_words(sets, attributes)
    if judged == "not certain":
        return f"not certain: {found}{_doubt_words(difference, adjusted)}"
    sentence = f"{found}, clear{adjusted}"
    if difference.evaluators < _FEW_EVALUATORS:
        sentence += f", by {difference.evaluators} evaluators only"
    if difference.equivalent_p is not None and difference.equivalent_p <= ALPHA:
        sentence += f"; smaller than the {margin:.3g} that matters"
    return sentence


def _within_words(difference: Difference, margin: float) -> str:
    points = "point" if margin == 1 else "points"
    alone = f"; {_size(difference)} when looked at alone" if _is_clear_alone(difference) else ""
    within = f"within {margin:.3g} {points} of the control (90 %: {_tested(difference)}){alone}"
    if difference.is_unheard:
        return f"nobody heard a difference: {within}"
    return f"on average {within}" if len(difference.by_condition) > 1 else within


def _doubt_words(difference: Difference, adjusted: str) -> str:
    p = _adjusted_p(difference)
    if p is not None and p <= ALPHA:
        if difference.evaluators < FEWEST_TO_CLAIM:
            return "; two evaluators cannot stand for a panel"
        return "; clear beside the scatter of all sets, not beside its own"
    if _is_clear_alone(difference) and adjusted:
        return f"; clear alone, not{adjusted}"
    return _reach(difference)


def _is_clear_alone(difference: Difference) -> bool:
    return difference.p is not None and difference.p <= ALPHA


def unclaimed_sentence(difference: Difference) -> str:
    """Say what is found without some evaluators, where everybody together does not show it.

    Never as a claim: whom to leave out was chosen from the same scores, and a second chance to
    claim would be one more than 5 % allow for.
    """
    return (
        f"{_size(difference)} ({_interval(difference)}); shown, not claimed: who is left out was "
        "chosen by these scores"
    )


def _adjusted_words(sets: int, attributes: int) -> str:
    """Say what a p was adjusted for; empty for one set and one attribute."""
    parts = [
        f"{count} {noun}"
        for count, noun in ((sets, "sets"), (attributes, "attributes"))
        if count > 1
    ]
    return f" after adjusting for {' and '.join(parts)}" if parts else ""


def _tested(difference: Difference) -> str:
    """Return the interval that the test for "within" looks at, positive for better."""
    value, se, df = (each or 0.0 for each in (difference.difference, difference.se, difference.df))
    half = t_quantile(_TESTED_PART, df) * se
    return f"{_signed(value - half)} to {_signed(value + half)}"


def conditions_sentence(differences: Iterable[InCondition]) -> str:
    """Say how a set does in each condition, and where that can be claimed."""
    parts = [
        f"{each.condition} {_points(each.difference)} ({_turned(each.lower, each.upper)})"
        f"{', clear' * _is_clear(each)}"
        for each in differences
    ]
    return f"By condition: {'; '.join(parts)}."


def headline(attributes: Sequence[Attribute]) -> str:
    """Say in one sentence which sets differ from the control; the heading of the page."""
    if not attributes:
        return "No scores yet."
    control = attributes[0].control
    told: dict[str, dict[str, list[str]]] = {}
    known = False
    for block in attributes:
        for difference in block.differences:
            known |= difference.p_dunnett is not None
            way, name = verdict(difference), block.attribute.replace("_", " ")
            found: list[tuple[str, Verdict]] = [("", way)] if way in ("better", "worse") else []
            if way == "by condition":
                single = claims_by_condition(difference)
                found = [
                    (f" ({listed([title for title, each in single if each == way])})", way)
                    for way in dict.fromkeys(each for _, each in single)
                ]
            for where, each in found:
                told.setdefault(difference.set, {}).setdefault(each, []).append(f"{name}{where}")
    if not known:
        return f"Too few scores to compare any set with {control}."
    if not told:
        rows = [difference for block in attributes for difference in block.differences]
        if all(row.is_unheard for row in rows):
            return f"Nobody heard a difference from {control}."
        return f"No set differs clearly from {control}."
    sentences = []
    for name, ways in told.items():
        parts = [f"{way} on {listed(names)}" for way, names in ways.items()]
        sentences.append(f"{name} is {' and '.join(parts)}")
    return f"Against {control}: {'; '.join(sentences)}."


def _size(difference: Difference) -> str:
    return _points(difference.difference or 0.0, "points")


def _points(value: float, noun: str = "") -> str:
    if abs(value) < 0.05:
        return "no difference" if not noun else "equal on average"
    way = "better" if value > 0 else "worse"
    return f"{way} by {abs(value):.1f}{f' {noun}' if noun else ''}"


def _interval(difference: Difference) -> str:
    return _turned(difference.lower or 0.0, difference.upper or 0.0)


def _turned(lower: float, upper: float) -> str:
    if upper < 0:
        # Worse by so much: the bounds are told the same way round.
        lower, upper = -upper, -lower
    elif lower < 0:
        return f"{_signed(lower)} to {_signed(upper)}"
    return f"{lower:.1f} to {upper:.1f}"


def _signed(value: float) -> str:
    return "0.0" if abs(value) < 0.05 else f"{value:+.1f}"


def _reach(difference: Difference) -> str:
    if difference.smallest_detectable is None:
        return ""
    return f"; this panel would reliably find {difference.smallest_detectable:.1f}"
