"""What is in a study, for its lead: counts, blind codes, and how its clips were made."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

import sqlalchemy as sa

from ratings.storage import tables
from ratings.storage.listening_rows import condition_from
from ratings.storage.study_folder import Study
from ratings.study.sets import Condition


@dataclass(frozen=True, slots=True)
class StudyOverview:
    """A study at a glance.

    Attributes
    ----------
    set_codes
        Blind codes in numerical order: the order says nothing.
    conditions
        In the order of the plan.
    clip_count
        Clips cut from the recordings.
    is_calibrated
        Whether every clip's level is known in pascal.
    remarks
        What was done to clips, such as resampling, each with the number of clips concerned.
    """

    set_codes: tuple[str, ...]
    conditions: tuple[Condition, ...]
    clip_count: int
    is_calibrated: bool
    remarks: tuple[tuple[str, int], ...]


def study_overview(study: Study) -> StudyOverview:
    """Read what is in a study; no set's name is read."""
    condition, clip = tables.condition, tables.clip
    with study.reading() as connection:
        codes = connection.execute(sa.select(tables.tyre_set.c.code)).scalars()
        conditions = connection.execute(sa.select(condition).order_by(condition.c.position))
        full_scales = connection.execute(sa.select(clip.c.pa_per_full_scale)).scalars().all()
        remarks = connection.execute(sa.select(tables.clip_source.c.remarks)).scalars()
        return StudyOverview(
            set_codes=tuple(sorted(codes)),
            conditions=tuple(condition_from(row) for row in conditions),
            clip_count=len(full_scales),
            is_calibrated=all(full_scale is not None for full_scale in full_scales),
            remarks=_counted(line for text in remarks for line in text.splitlines()),
        )


def _counted(lines: Iterable[str]) -> tuple[tuple[str, int], ...]:
    return tuple(sorted(Counter(lines).items()))
