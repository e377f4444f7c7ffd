"""The work behind the agreement page, done off the window's thread."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from app.background.jobs import Progress, attempt
from ratings.findings.name_order import by_number
from ratings.reports.written_notes import WrittenNote, written_notes
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.study_folder import Study

if TYPE_CHECKING:
    import pandas as pd

    from ratings.findings.agreement import AttributeAgreement
    from ratings.study.attributes import Scale


@dataclass(frozen=True, slots=True)
class Judged:
    """The agreement in all scores that were there when it was worked out.

    Attributes
    ----------
    blocks
        Attributes in the order of the study, over all conditions first.
    score_count
        Scores that count.
    notes
        What evaluators wrote, of all conditions.
    unworked
        Attributes that the program failed to judge.
    """

    blocks: tuple[AttributeAgreement, ...] = ()
    score_count: int = 0
    notes: tuple[WrittenNote, ...] = ()
    unworked: tuple[str, ...] = ()

    @property
    def evaluators(self) -> tuple[str, ...]:
        """Everyone with a score."""
        return tuple(
            sorted({code for block in self.blocks for code in block.evaluators}, key=by_number)
        )

    @property
    def conditions(self) -> tuple[str, ...]:
        """Conditions judged by themselves; none when the scores are of one."""
        return tuple(dict.fromkeys(b.condition for b in self.blocks if b.condition is not None))


def judge(study: Study, progress: Progress) -> Judged:
    """Read every score of a study and judge the agreement.

    An attribute in which the program fails is left out and named; the others are judged.
    """
    progress(0.0, "Reading the scores")
    desk = LeadDesk(study)
    table = desk.score_table()
    times = desk.pair_times()
    notes = written_notes(desk.note_table())
    progress(0.3, "Working out the agreement")
    order = {attribute.key: place for place, attribute in enumerate(study.attributes)}
    blocks, unworked = _blocks(table, study.facts.scale, times)
    blocks = tuple(sorted(blocks, key=lambda block: order.get(block.attribute, len(order))))
    return Judged(blocks, len(table), notes, unworked)


def _blocks(
    table: pd.DataFrame, scale: Scale, times: pd.DataFrame
) -> tuple[tuple[AttributeAgreement, ...], tuple[str, ...]]:
    from ratings.findings.agreement import agreement, claimed_together

    def judged(only: str | None = None) -> tuple[AttributeAgreement, ...] | None:
        return agreement(table, scale, pair_times=times, only=only)

    together = attempt(judged, None)
    if together is not None:
        return together, ()
    apart = {name: attempt(partial(judged, name), None) for name in table["attribute"].unique()}
    kept = tuple(block for blocks in apart.values() for block in blocks or ())
    return claimed_together(kept), tuple(
        str(name) for name, blocks in apart.items() if blocks is None
    )
