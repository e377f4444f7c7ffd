"""The key of the blind codes for verdict and report: who opened it, what was told, the names.

What is judged or reported gets names from here alone, once the key has been opened, which is a
logged act. Elsewhere they are read to assign runs and to match imported tables. A seal by
passphrase belongs here and in `lead_file`.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import sqlalchemy as sa

from ratings.errors import StudyError
from ratings.storage import tables
from ratings.storage.blind_study import utc_now
from ratings.storage.row_ids import add_row
from ratings.storage.score_rows import brought_scores
from ratings.storage.study_folder import Study
from ratings.storage.study_overview import shares_clips

if TYPE_CHECKING:
    import pandas as pd

#: No row has an id behind it: what is compared with it was never given after an opening.
_HIGHEST_ID = 2**63 - 1
#: No place on earth is further behind UTC (UTC-12).
_FURTHEST_BEHIND = timedelta(hours=12)


@dataclass(frozen=True, slots=True)
class Opening:
    """One act of opening the key.

    Attributes
    ----------
    opened_at
        In UTC, by this computer's clock.
    last_score_id, last_brought_score_id
        The last rows before it; what came later is told by them, whatever the clock said.
    """

    who: str
    why: str
    opened_at: datetime
    last_score_id: int
    last_brought_score_id: int


@dataclass(frozen=True, slots=True)
class ScoreImport:
    """A table of scores that was imported.

    Attributes
    ----------
    sets_by_name
        Whether it called sets by their names: whoever imported it could then tell codes by its
        scores. None when it was imported by a version that kept no record of it.
    imported_at
        In UTC.
    """

    file_name: str
    scores: int
    sets_by_name: bool | None
    imported_at: datetime


@dataclass(frozen=True, slots=True)
class LaterScores:
    """What one evaluator did to scores after the key was opened first, counted.

    Attributes
    ----------
    new, changed, withdrawn
        Scores of listening sessions that were given for the first time, given again, taken back.
    imported
        Scores of tables that do not say for certain that they were given before, or say that they
        were given after an opening in another copy of the study.
    """

    evaluator: str
    new: int = 0
    changed: int = 0
    withdrawn: int = 0
    imported: int = 0


@dataclass(frozen=True, slots=True)
class BlindnessLog:
    """Everything on record that could have told which set a code is.

    Attributes
    ----------
    openings
        In their order; empty while the key is closed.
    imports
        In their order.
    shares_clips
        Whether all pairs of a condition play one clip of the control, as in studies of earlier
        versions: a count of the clips finds it.
    runs_added
        When each run was brought in under a set's name after the study was made, in UTC: whoever
        did it could see the code that it got.
    later_scores
        Of evaluators who did something after the first opening, by code.
    """

    openings: tuple[Opening, ...]
    imports: tuple[ScoreImport, ...]
    shares_clips: bool
    runs_added: tuple[datetime, ...]
    later_scores: tuple[LaterScores, ...]


def opening(study: Study) -> Opening | None:
    """Return the first opening of the key; None while it is closed."""
    with study.reading() as connection:
        return next(iter(_openings(connection)), None)


def open_key(study: Study, who: str, why: str, clock: Callable[[], datetime] = utc_now) -> Opening:
    """Open the key, which is logged for good; return this act.

    Names stay open from the first opening on. Another person, or another reason, is logged as an
    act of its own; the same one again is not, and returns what is logged.

    Raises
    ------
    StudyError
        When nobody or no reason is named, or the study cannot be written.
    """
    who, why = (" ".join(text.split()) for text in (who, why))
    if not who:
        raise StudyError(
            "Nobody is named who opens the key.",
            "Write your name; it is printed in the report. The key stays closed.",
        )
    if not why:
        raise StudyError(
            "No reason is given for opening the key.",
            'Write one, such as "all sessions are finished". The key stays closed.',
        )
    with study.writing() as connection:
        for before in _openings(connection):
            if (before.who.casefold(), before.why.casefold()) == (who.casefold(), why.casefold()):
                return before
        last = [
            connection.execute(sa.select(sa.func.coalesce(sa.func.max(id_), 0))).scalar_one()
            for id_ in (tables.score.c.score_id, tables.brought_score.c.brought_score_id)
        ]
        act = Opening(who, why, clock().astimezone(UTC), *last)
        add_row(
            connection,
            tables.key_opening,
            who=who,
            why=why,
            last_score_id=act.last_score_id,
            last_brought_score_id=act.last_brought_score_id,
            opened_at=act.opened_at.isoformat(),
        )
    return act


def names(study: Study) -> dict[str, str]:
    """Return the name of every set by its code, in the order of the plan.

    Raises
    ------
    StudyError
        While the key is closed.
    """
    query = sa.select(tables.tyre_set).order_by(tables.tyre_set.c.position)
    with study.reading() as connection:
        if not _openings(connection):
            raise StudyError(
                f"The key of the study {study.folder.name} has not been opened.",
                "Judge on codes, or open the key: who opened it, when and why is logged.",
            )
        return {row.code: row.name for row in connection.execute(query)}


def seed_if_open(study: Study) -> str:
    """Return the seed that the orders of the pairs came from; empty while the key is closed."""
    with study.reading() as connection:
        if not _openings(connection):
            return ""
        return str(connection.execute(sa.select(tables.design.c.seed)).scalar() or "")


def blindness_log(study: Study) -> BlindnessLog:
    """Return everything on record that could have told which set a code is."""
    recording, source = tables.recording.c, tables.clip_source.c
    heard = sa.select(source.recording_id)
    added = (
        sa.select(recording.imported_at)
        .where(recording.recording_id.not_in(heard))
        .order_by(recording.recording_id)
    )
    with study.reading() as connection:
        return BlindnessLog(
            openings=_openings(connection),
            imports=_imports(connection),
            shares_clips=shares_clips(connection),
            runs_added=tuple(map(_moment, connection.execute(added).scalars())),
            later_scores=_later_scores(connection),
        )


def given_after(connection: sa.Connection, given: pd.DataFrame) -> pd.Series[bool]:
    """Tell of each score of `given_scores` whether it was given after the first opening.

    What stood here before the opening was given before it: rows tell, not clocks.
    """
    first = next(iter(_openings(connection)), None)
    return given["row_id"] > (first.last_score_id if first else _HIGHEST_ID)


def imported_after(connection: sa.Connection, brought: pd.DataFrame) -> list[bool]:
    """Tell of each score of `brought_scores` whether it may have been given after an opening.

    Notes
    -----
    What was imported before the opening was given before it. Of a table that was imported later
    only the times in it can tell, and only those that are surely earlier. A mark that a score bore
    in its table stays: the key was opened in another copy.
    """
    marked = brought["is_marked"].astype(bool).tolist()
    first = next(iter(_openings(connection)), None)
    if first is None:
        return marked
    score = tables.score.c
    later = sa.select(sa.func.min(score.given_at)).where(score.score_id > first.last_score_id)
    found = connection.execute(later).scalar()
    row = tables.brought_score.c
    since = sa.select(sa.func.min(row.brought_at)).where(
        row.brought_score_id > first.last_brought_score_id
    )
    imported = connection.execute(since).scalar()
    # Whichever way the clock was put since, the earliest of all is the safe one.
    moment = min([first.opened_at, *(_moment(text) for text in (found, imported) if text)])
    cells = zip(brought["row_id"], brought["given_at"], marked, strict=True)
    return [
        is_marked
        or (row_id > first.last_brought_score_id and not _is_surely_before(given_at, moment))
        for row_id, given_at, is_marked in cells
    ]


def _openings(connection: sa.Connection) -> tuple[Opening, ...]:
    query = sa.select(tables.key_opening).order_by(tables.key_opening.c.key_opening_id)
    return tuple(
        Opening(
            row.who,
            row.why,
            _moment(row.opened_at),
            row.last_score_id,
            row.last_brought_score_id,
        )
        for row in connection.execute(query)
    )


def _imports(connection: sa.Connection) -> tuple[ScoreImport, ...]:
    brought, kept = tables.brought_score.c, tables.score_import.c
    query = (
        sa.select(
            sa.func.min(brought.file_name).label("file_name"),
            sa.func.count().label("scores"),
            sa.func.min(brought.brought_at).label("brought_at"),
            sa.func.max(kept.sets_by_name).label("sets_by_name"),
        )
        .select_from(
            tables.brought_score.outerjoin(tables.score_import, kept.file_hash == brought.file_hash)
        )
        .group_by(brought.file_hash)
        .order_by(sa.func.min(brought.brought_score_id))
    )
    return tuple(
        ScoreImport(
            row.file_name,
            row.scores,
            None if row.sets_by_name is None else bool(row.sets_by_name),
            _moment(row.brought_at),
        )
        for row in connection.execute(query)
    )


def _later_scores(connection: sa.Connection) -> tuple[LaterScores, ...]:
    first = next(iter(_openings(connection)), None)
    score_id = tables.score.c.score_id
    after = _standing(connection, score_id > first.last_score_id) if first else {}
    before = _standing(connection, score_id <= first.last_score_id) if first and after else {}
    counts: dict[str, Counter[str]] = defaultdict(Counter)
    for cell, value in after.items():
        stood = before.get(cell) is not None
        what = ("changed" if stood else "new") if value is not None else "withdrawn"
        # What was given and taken back after the opening never counted.
        if value is not None or stood:
            counts[cell[0]][what] += 1
    brought = brought_scores(connection)
    for evaluator in brought["evaluator"][imported_after(connection, brought)]:
        counts[evaluator]["imported"] += 1
    return tuple(LaterScores(code, **counts[code]) for code in sorted(counts))


def _standing(
    connection: sa.Connection, those: sa.ColumnElement[bool]
) -> dict[tuple[str, int, str, int], float | None]:
    """Give the latest score among those of each cell: evaluator, pair, side, attribute."""
    score, pair, seat = tables.score, tables.pair, tables.seat
    latest = (
        sa.select(sa.func.max(score.c.score_id))
        .where(those)
        .group_by(score.c.pair_id, score.c.side, score.c.attribute_id)
    )
    query = (
        sa.select(tables.evaluator.c.code, score)
        .join(pair, pair.c.pair_id == score.c.pair_id)
        .join(seat, seat.c.session_id == pair.c.session_id)
        .join(tables.evaluator, tables.evaluator.c.evaluator_id == seat.c.evaluator_id)
        .where(score.c.score_id.in_(latest))
    )
    rows = connection.execute(query.select_from(score))
    return {(row.code, row.pair_id, row.side, row.attribute_id): row.value for row in rows}


def _is_surely_before(given_at: object, moment: datetime) -> bool:
    """Tell whether a time that a table gives lies before a moment, wherever it was written."""
    if not isinstance(given_at, str):
        return False
    try:
        given = datetime.fromisoformat(given_at)
        if len(given_at) <= len("2031-07-31"):
            given += timedelta(days=1)
        if given.tzinfo is None:
            given = given.replace(tzinfo=UTC) + _FURTHEST_BEHIND
    except (ValueError, OverflowError):
        return False
    return given < moment


def _moment(text: str) -> datetime:
    return datetime.fromisoformat(text).astimezone(UTC)
