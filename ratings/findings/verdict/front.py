"""What stands on the first page of a report unless the lead writes it: summary, recommendation."""

from __future__ import annotations

from ratings.findings.verdict.judging import CONTROL, StudyVerdict
from ratings.findings.verdict.rows import SetVerdict
from ratings.findings.verdict.words import claims_sentence, measured_words, rank
from ratings.study.study_settings import Place
from ratings.study.wording import counted, listed

#: When more evaluators may be wanted.
_OPEN = ("looking", "extended")
#: So many sets are summed up on the first page; the table beside them holds all.
MOST_SUMMED_UP = 3


def ranked_sets(verdict: StudyVerdict) -> tuple[SetVerdict, ...]:
    """Return the sets, those that are only better first and those that are only worse last."""
    return tuple(sorted(verdict.sets, key=rank))


def program_words(verdict: StudyVerdict) -> dict[Place, str]:
    """Return what the program writes in each place that the lead may write in."""
    return {"summary": summary(verdict), "recommendation": recommendation(verdict)}


def front_words(verdict: StudyVerdict, place: Place) -> tuple[str, bool]:
    """Return what stands in a place, and whether it is the lead's."""
    own = verdict.question.settings.lead_words.get(place, "")
    return (own, True) if own else (program_words(verdict)[place], False)


def summary(verdict: StudyVerdict) -> str:
    """Say what is claimed of the first sets, who would notice, and what was measured."""
    sets, limits = ranked_sets(verdict), verdict.question.settings.limits
    told = []
    for place, each in enumerate(sets[:MOST_SUMMED_UP]):
        told += [claims_sentence(each, limits, CONTROL), *_of_what_is_clear(each)[place > 0 :]]
    more = len(sets) - min(len(sets), MOST_SUMMED_UP)
    if more > 0:
        told.append(f"{counted(more, 'more set')} in the tables.")
    panel = counted(len(verdict.evaluators), "evaluator")
    conditions = counted(len(verdict.conditions), "condition")
    control = verdict.question.names.get(verdict.question.control)
    named = f" The control is {control}." if control else ""
    told.append(f"{panel}, {counted(len(sets) + 1, 'set')}, {conditions}.{named}")
    return " ".join(told)


def _of_what_is_clear(each: SetVerdict) -> list[str]:
    """Say of the largest clear difference who would notice it, and what the measurement says."""
    clear = [row for row in each.rows if row.overall.word == "clear"]
    if not clear:
        return []
    row = max(clear, key=lambda row: abs(row.overall.difference or 0.0))
    same = row.beside.says == "the same"
    meter = f" The measurement says the same: {measured_words(row.beside)}." if same else ""
    told = [f"{row.name}: {row.noticed}.{meter}"]
    denied = [row.name.lower() for row in clear if row.beside.says == "otherwise"]
    if denied:
        told.append(f"The measurement says otherwise on {listed(denied)}.")
    return told


def recommendation(verdict: StudyVerdict) -> str:
    """Say what the figures allow to do next; what to do with a set is for the lead to say."""
    told = [
        f"{words}: {listed(names)}."
        for place, words in enumerate(
            (
                "Better somewhere and nowhere clearly worse",
                "Better in some and worse in other respects",
                "Worse somewhere and nowhere clearly better",
            )
        )
        if (names := [each.name for each in verdict.sets if rank(each)[0] == place])
    ]
    judged = any(row.overall.word != "no verdict" for each in verdict.sets for row in each.rows)
    if not judged:
        told.append("Nothing can be recommended yet: no set could be judged.")
    elif not told:
        told.append("No set is clearly better or worse than the control.")
    if judged and verdict.enough is not None and verdict.enough.analysis in _OPEN:
        told.append(verdict.enough.headline)
    return " ".join(told)
