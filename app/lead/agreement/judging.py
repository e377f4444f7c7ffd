"""The work behind the agreement page, done off the window's thread."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.background.jobs import Progress
from ratings.findings.name_order import by_number
from ratings.reports.written_notes import WrittenNote, written_notes
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.study_folder import Study

if TYPE_CHECKING:
    from ratings.findings.agreement import AttributeAgreement


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
    """

    blocks: tuple[AttributeAgreement, ...] = ()
    score_count: int = 0
    notes: tuple[WrittenNote, ...] = ()

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
    """Read every score of a study and judge the agreement."""
    from ratings.findings.agreement import agreement

    progress(0.0, "Reading the scores")
    desk = LeadDesk(study)
    table = desk.score_table()
    times = desk.pair_times()
    notes = written_notes(desk.note_table())
    progress(0.3, "Working out the agreement")
    order = {attribute.key: place for place, attribute in enumerate(study.attributes)}
    blocks = agreement(table, study.facts.scale, pair_times=times)
    blocks = tuple(sorted(blocks, key=lambda block: order.get(block.attribute, len(order))))
    return Judged(blocks, len(table), notes)
