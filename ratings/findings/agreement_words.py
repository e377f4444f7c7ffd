"""The sentences of the agreement page."""

from collections.abc import Iterable, Sequence
from typing import Literal, NamedTuple, Protocol

from ratings.findings.numbered_scores import NumberedScores
from ratings.statistics.agreement.kendall import Concordance
from ratings.statistics.cells import Cells
from ratings.statistics.missing import complete_part
from ratings.study.wording import counted, listed, spoken

Degree = Literal["well", "loosely", "not certain", "not above chance", "unknown"]
"""How far a panel agrees on an attribute; see `ratings.findings.agreement.degree_of`."""

#: From the least to the most.
_DEGREES: tuple[Degree, ...] = (
    "unknown", "not above chance", "not certain", "loosely", "well",
)  # fmt: skip
#: A heading of more letters takes more than three lines of a small window.
_LONGEST_HEADING = 170
#: How many attributes a line names that rise without the flagged evaluators.
_MOST_RISING = 3


class Evaluator(Protocol):
    """What a sentence needs to know of an evaluator."""

    @property
    def evaluator(self) -> str:
        """Blind code."""

    @property
    def reasons(self) -> tuple[str, ...]:
        """Why this evaluator is flagged in the study; empty when not."""


class Agreeing(Protocol):
    """What the headline needs to know of a block."""

    @property
    def attribute(self) -> str:
        """Attribute as in the score table."""

    @property
    def condition(self) -> str | None:
        """Condition, or None over all of them."""

    @property
    def agrees(self) -> bool | None:
        """Whether the panel agrees more than by chance; None when nobody can tell."""

    @property
    def kendall(self) -> Concordance:
        """W of the whole panel."""

    @property
    def degree(self) -> Degree:
        """What the panel is said to do."""

    @property
    def agrees_in(self) -> tuple[str, ...]:
        """Conditions in which it agrees, where that is not certain over all of them."""

    @property
    def w_in(self) -> tuple[float, ...]:
        """W in each of them."""

    @property
    def nobody_discriminates(self) -> bool:
        """Whether every evaluator gave all sets the same score."""

    @property
    def evaluators_detail(self) -> Sequence[Evaluator]:
        """One per evaluator."""

    @property
    def without_flagged(self) -> Concordance | None:
        """W without the flagged evaluators."""

    @property
    def degree_without(self) -> Degree | None:
        """What the panel would be said to do without them."""


def headline(agreements: Iterable[Agreeing], condition: str | None = None) -> str:
    """Say in one sentence what the panel agrees on; the heading of the page.

    Parameters
    ----------
    agreements
        Blocks of `ratings.findings.agreement.agreement`.
    condition
        Only blocks of this condition count; None takes those over all conditions.

    Notes
    -----
    "Loosely" is more than chance, but below `agreement.USABLE_W`: a significant W is not yet a
    good one. What would make it longer than three lines of a small window is left to the table.
    """
    chosen = [block for block in agreements if block.condition == condition]
    if not chosen:
        return "No scores yet."
    told = [block for block in chosen if block.agrees is not None or block.agrees_in]
    flat = [block for block in chosen if block.nobody_discriminates]
    if len(flat) == len(chosen):
        return "Nobody told the sets apart."
    ends = f" Nobody told the sets apart on {_names(flat, 'or')}." if flat else ""
    if not told:
        return f"Too few scores, sets or evaluators to tell whether the panel agrees.{ends}"
    if len(told) + len(flat) < len(chosen):
        ends += " For the rest it is too early to tell."
    if len(told) > 1 and not ends:
        if all(block.degree == "well" for block in told):
            return "The panel agrees on every attribute."
        if not any(block.agrees or block.agrees_in for block in told):
            return "The panel does not agree on any attribute yet."
    for form in (_FULL, _WITHOUT_W):
        said = f"The panel {_how_far(told, form)}.{ends}"
        if len(said) <= _LONGEST_HEADING:
            return said
    return f"The panel {_how_far(told, _SHORT)}."


class _Form(NamedTuple):
    """How much a heading names: W beside a name, and at most so many names in a row."""

    has_w: bool
    most_names: int = 1000


_FULL, _WITHOUT_W, _SHORT = _Form(has_w=True), _Form(has_w=False), _Form(False, 3)


def _how_far(told: Sequence[Agreeing], form: _Form) -> str:
    within = [block for block in told if block.agrees_in]
    rest = [block for block in told if not block.agrees_in]
    well, loosely, doubtful, apart = (
        [block for block in rest if block.degree == degree]
        for degree in ("well", "loosely", "not certain", "not above chance")
    )
    parts = [f"agrees on {_names(well, most=form.most_names)}"] if well else []
    if loosely:
        names = _names(loosely, most=form.most_names)
        parts.append(f"{'' if parts else 'agrees '}only loosely on {names}")
    if within:
        if form.has_w:
            names = listed([f"{spoken(b.attribute)}{_places(b)}" for b in within])
        else:
            names = _names(within, most=form.most_names)
        parts.append(f"{'' if parts else 'agrees '}in single conditions on {names}")
    sentence = ", ".join(parts)
    if doubtful:
        figures = ""
        if form.has_w and len(doubtful) == 1:
            kendall = doubtful[0].kendall
            has_interval = kendall.lower is not None and kendall.upper is not None
            w = (
                f"{kendall.lower:.2f} to {kendall.upper:.2f}"
                if has_interval
                else f"{kendall.w:.2f}"
            )
            figures = f" (W {w})"
        names = f"{'; also' if sentence else 'agrees'} on {_names(doubtful, most=form.most_names)}"
        sentence += f"{names}, but how well is not certain{figures}"
    if apart:
        joint = ("; not" if doubtful else ", not") if sentence else "does not agree"
        sentence += f"{joint} on {_names(apart, 'or', form.most_names)}"
    return sentence


def _names(blocks: Sequence[Agreeing], joint: str = "and", most: int = _FULL.most_names) -> str:
    names = [spoken(block.attribute) for block in blocks]
    if len(names) > most + 1:
        names = [*names[:most], f"{len(names) - most} more"]
    return listed(names, joint)


def _places(block: Agreeing) -> str:
    places = [f"{w:.2f} in {name}" for name, w in zip(block.agrees_in, block.w_in, strict=True)]
    return f" (W {listed(places)})"


def _interval_words(kendall: Concordance) -> str:
    """Return the interval of W, such as ``95 %: 0.13 to 0.98``; empty where there is none."""
    if kendall.lower is None or kendall.upper is None:
        return ""
    return f"95 %: {kendall.lower:.2f} to {kendall.upper:.2f}"


def without_flagged_finding(agreements: Iterable[Agreeing], condition: str | None = None) -> str:
    """Say where the panel would agree better without those who are flagged; empty if nowhere.

    Parameters
    ----------
    agreements, condition
        As for `headline`.

    Notes
    -----
    Shown, never claimed: the same scores chose whom to leave out. An attribute is named where its
    word would be a better one, the greatest rise first.
    """
    rising = [
        (block.without_flagged.w, block.kendall.w, block)
        for block in agreements
        if block.condition == condition and block.degree_without is not None
        if _DEGREES.index(block.degree_without) > max(_DEGREES.index(block.degree), 1)
        if block.without_flagged is not None and block.without_flagged.w is not None
        if block.kendall.w is not None and block.without_flagged.w > block.kendall.w
    ]
    if not rising:
        return ""
    rising.sort(key=lambda each: each[1] - each[0])
    flagged = {e.evaluator: None for *_, b in rising for e in b.evaluators_detail if e.reasons}
    parts = [
        f"{without:.2f} on {spoken(block.attribute)} ({everyone:.2f} with all)"
        for without, everyone, block in rising[:_MOST_RISING]
    ]
    if len(rising) > _MOST_RISING:
        parts.append(f"higher on {len(rising) - _MOST_RISING} more")
    who = f"{listed(list(flagged))}, who {'is' if len(flagged) == 1 else 'are'} flagged"
    return (
        f"Without {who}, W is {listed(parts)}. Shown, not claimed: "
        "the same scores chose whom to leave out."
    )


def unworked_words(attributes: Sequence[str]) -> str:
    """Say which attributes the program itself failed to judge."""
    return (
        f"{listed(attributes)} could not be worked out: a fault of the program, written to its "
        "log. All scores are saved."
    )


def agreement_sentence(
    kendall: Concordance,
    degree: Degree,
    chance_w: float | None,
    p_holm: float | None,
    family: str,
) -> str:
    """Say what a defined W means for a panel of this size.

    Parameters
    ----------
    kendall
        With a defined W.
    degree, chance_w, p_holm
        As in `ratings.findings.agreement.AttributeAgreement`.
    family
        What was looked at together, such as ``7 attributes``; empty for this W alone.
    """
    panel = f"{counted(kendall.evaluators, 'evaluator')}, {counted(kendall.sets, 'set')}"
    among = f" among {family}" if family else ""
    if degree == "unknown":
        beside = among if kendall.smallest_w is not None else ""
        return f"Too few to tell{beside}: W {kendall.w:.2f}, and chance explains any W. {panel}."
    answer, between = _ANSWERS[degree], _interval_words(kendall)
    if degree == "not certain" and kendall.evaluators < 3:
        answer = "Agrees, but two evaluators cannot say how well"
    found = f"{answer}: W {kendall.w:.2f}{f' ({between})' if between else ''}"
    if degree == "not certain" and between:
        found += f", where chance gives {1 / kendall.evaluators:.2f} on average"
    reached = chance_w is not None and (kendall.w or 0.0) >= chance_w - 1e-9
    if chance_w is None or reached != (degree != "not above chance"):
        chance = 100 * (p_holm or 0.0)
        return f"{found}; equal scores counted in, its chance{among} is {chance:.2g} %. {panel}."
    return f"{found}; chance alone explains values below {chance_w:.2f}{among}. {panel}."


_ANSWERS: dict[Degree, str] = {
    "well": "Agrees",
    "loosely": "Agrees only loosely",
    "not certain": "Agrees, but how well is not certain",
    "not above chance": "Not above chance",
}


def family_words(members: Sequence[tuple[str, str | None]]) -> str:
    """Count attributes and conditions that are looked at together; empty for a single one."""
    if len(members) < 2:
        return ""
    attributes, conditions = (len(set(names)) for names in zip(*members, strict=True))
    parts = [(attributes, "attribute"), (conditions, "condition")]
    return " in ".join(counted(number, noun) for number, noun in parts if number > 1)


def by_condition_words(conditions: Sequence[str], w: Sequence[float], *, is_shifting: bool) -> str:
    """Say where the panel agrees by itself although that is not certain over all conditions."""
    begins = "The order of the sets depends on the condition: taken" if is_shifting else "Taken"
    places = [f"{title} (W {each:.2f})" for title, each in zip(conditions, w, strict=True)]
    return f"{begins} by itself, the panel agrees in {listed(places)}."


def agreement_notes(
    scores: NumberedScores,
    cells: Cells,
    kendall: Concordance,
    evaluators: Sequence[str],
    sets: Sequence[str],
) -> tuple[str, ...]:
    """Say what the figures leave out or throw together."""
    notes = []
    kept_evaluators, kept_sets = complete_part(cells.set_means())
    if kendall.left_out:
        names = [name for name, kept in zip(evaluators, kept_evaluators, strict=True) if not kept]
        verb = "is" if len(names) == 1 else "are"
        notes.append(
            f"{listed(names)} did not rate every set and {verb} left out of W, not of ICC."
        )
    if kendall.sets_left_out:
        names = [name for name, kept in zip(sets, kept_sets, strict=True) if not kept]
        verb = "was" if len(names) == 1 else "were"
        notes.append(f"{listed(names)} {verb} not rated by everyone: left out of W, not of ICC.")
    rated = cells.counts > 0
    uneven = int((rated.any(axis=2) & (rated.sum(axis=2) < rated.any(axis=(0, 1)).sum())).sum())
    if uneven:
        notes.append(
            f"{counted(uneven, 'mean')} of an evaluator and set "
            f"{'lacks' if uneven == 1 else 'lack'} a condition; corrected for its level."
        )
    if scores.driven is not None and scores.driven.any() and not scores.driven.all():
        driven = int(scores.driven.sum())
        notes.append(
            f"{driven} scores were given driving and {scores.driven.size - driven} listening; "
            "they are taken together here."
        )
    return tuple(notes)
