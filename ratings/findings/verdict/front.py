"""What stands on the first page of a report unless the lead writes it: summary, recommendation."""

from __future__ import annotations

from ratings.findings.verdict.judging import CONTROL, StudyVerdict
from ratings.findings.verdict.rows import SetVerdict
from ratings.findings.verdict.words import claims_sentence, measured_words, rank
from ratings.study.study_settings import Place
from ratings.study.wording import counted, listed

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
    sets = ranked_sets(verdict)
    told = [
        claims_sentence(each, verdict.question.settings.limits, CONTROL)
        for each in sets[:MOST_SUMMED_UP]
    ]
    if sets:
        told[0] += "".join(f" {words}" for words in _of_the_first(sets[0]))
    more = len(sets) - len(told)
    if more > 0:
        told.append(f"{counted(more, 'more set')} in the tables.")
    panel = counted(len(verdict.evaluators), "evaluator")
    conditions = counted(len(verdict.conditions), "condition")
    told.append(f"{panel}, {counted(len(sets) + 1, 'set')}, {conditions}.")
    return " ".join(told)


def _of_the_first(each: SetVerdict) -> list[str]:
    """Say of what is clearest who would notice it, and whether the measurement says the same."""
    clear = [row for row in each.rows if row.overall.word == "clear"]
    if not clear:
        return []
    row = max(clear, key=lambda row: abs(row.overall.difference or 0.0))
    told = [f"{row.noticed[:1].upper()}{row.noticed[1:]}."]
    if row.beside.says != "cannot tell":
        told.append(f"The measurement says {row.beside.says}: {measured_words(row.beside)}.")
    return told


def recommendation(verdict: StudyVerdict) -> str:
    """Say what the figures allow to do next; what to do with a set is for the lead to say."""
    told = []
    gains = [each for each in verdict.sets if rank(each)[0] == 0 and rank(each)[1] < 0]
    if gains:
        told.append(
            f"Better somewhere and nowhere clearly worse: {listed([each.name for each in gains])}."
        )
    losses = [each for each in verdict.sets if rank(each)[0] == 2]
    if losses:
        told.append(f"Worse, and nowhere better: {listed([each.name for each in losses])}.")
    if verdict.enough is not None and verdict.enough.analysis != "no plan":
        told.append(verdict.enough.headline)
    if not told:
        judged = any(row.overall.word != "no verdict" for s in verdict.sets for row in s.rows)
        told.append(
            "No set is clearly better or worse than the control."
            if judged
            else "There are no scores to go by yet."
        )
    return " ".join(told)
