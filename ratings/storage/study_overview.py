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
    heard_count
        Recordings that are heard, each in several clips.
    shares_clips
        Whether all pairs of a condition play one clip of the control, as in studies of earlier
        versions: then a count of the clips in the study's file finds it.
    is_calibrated
        Whether every clip's level is known in pascal.
    remarks
        What was done to the sound, such as resampling, each with the number of recordings.
    """

    set_codes: tuple[str, ...]
    conditions: tuple[Condition, ...]
    heard_count: int
    shares_clips: bool
    is_calibrated: bool
    remarks: tuple[tuple[str, int], ...]


def study_overview(study: Study) -> StudyOverview:
    """Read what is in a study; no set's name is read."""
    condition, clip = tables.condition, tables.clip
    with study.reading() as connection:
        codes = connection.execute(sa.select(tables.tyre_set.c.code)).scalars()
        conditions = connection.execute(sa.select(condition).order_by(condition.c.position))
        full_scales = connection.execute(sa.select(clip.c.pa_per_full_scale)).scalars().all()
        # Copies would be counted once for each pair, and the control has most of them.
        source = tables.clip_source.c
        first = sa.select(sa.func.min(source.clip_id)).group_by(source.recording_id)
        query = sa.select(source.remarks).where(source.clip_id.in_(first))
        remarks = connection.execute(query).scalars().all()
        return StudyOverview(
            set_codes=tuple(sorted(codes)),
            conditions=tuple(condition_from(row) for row in conditions),
            heard_count=len(remarks),
            shares_clips=shares_clips(connection),
            is_calibrated=all(full_scale is not None for full_scale in full_scales),
            remarks=_counted(line for text in remarks for line in text.splitlines()),
        )


def shares_clips(connection: sa.Connection) -> bool:
    """Tell whether pairs of a condition play one clip of the control, as in older studies."""
    query = sa.select(tables.comparison.c.control_clip_id)
    used = connection.execute(query).scalars().all()
    return len(set(used)) < len(used)


def _counted(lines: Iterable[str]) -> tuple[tuple[str, int], ...]:
    return tuple(sorted(Counter(lines).items()))
