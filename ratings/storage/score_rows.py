"""Scores and notes read out of the database as tables, sets under blind codes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import sqlalchemy as sa

from ratings.storage import tables
from ratings.storage.listening_rows import condition_from

if TYPE_CHECKING:
    import pandas as pd


from typing import TYPE_CHECKING

from ratings.storage.listening_rows import pair_durations_s

#: What makes two scores repeats of each other.
CELL = ("evaluator", "set", "condition", "attribute")

#: Who answered about which set in which condition.
_WHOSE = (
    tables.evaluator.c.code.label("evaluator"),
    tables.tyre_set.c.code.label("set"),
    tables.pair.c.condition_id.label("condition"),
)


def given_scores(connection: sa.Connection) -> pd.DataFrame:
    """Return the scores given in listening sessions, the latest of each cell, in order of pairs.

    ``row_id`` says which row of its table a score is: rows rise in the order of writing.
    ``is_marked`` says of an imported one that its table told it to be given after an opening.
    """
    score, pair = tables.score, tables.pair
    latest = (
        sa.select(sa.func.max(score.c.score_id).label("score_id"))
        .group_by(score.c.pair_id, score.c.side, score.c.attribute_id)
        .subquery()
    )
    # "No difference" is said of both sides at once: a later score of either takes it back.
    said = (
        sa.select(
            score.c.pair_id, score.c.attribute_id, sa.func.max(score.c.score_id).label("score_id")
        )
        .group_by(score.c.pair_id, score.c.attribute_id)
        .subquery()
    )
    spoken = score.alias("spoken")
    query = (
        sa.select(
            *_WHOSE,
            tables.attribute.c.key.label("attribute"),
            score.c.value.label("score"),
            pair.c.position.label("pair"),
            score.c.side,
            sa.literal("listened").label("origin"),
            score.c.given_at,
            tables.pair_role.c.role,
            spoken.c.said_equal.label("no_difference"),
            score.c.score_id.label("row_id"),
            sa.false().label("is_marked"),
        )
        .select_from(_with_origin(score))
        .join(latest, latest.c.score_id == score.c.score_id)
        .join(
            said,
            (said.c.pair_id == score.c.pair_id) & (said.c.attribute_id == score.c.attribute_id),
        )
        .join(spoken, spoken.c.score_id == said.c.score_id)
        .join(tables.attribute, tables.attribute.c.attribute_id == score.c.attribute_id)
        .join(tables.pair_role, tables.pair_role.c.pair_id == pair.c.pair_id)
        .where(score.c.value.is_not(None))
        .order_by(tables.session.c.ordinal, pair.c.position, score.c.side)
    )
    return _with_titles(connection, _frame(connection, query))


def brought_scores(connection: sa.Connection) -> pd.DataFrame:
    """Return the scores brought in from elsewhere, with the same columns."""
    brought, mark = tables.brought_score, tables.brought_mark
    query = (
        sa.select(
            tables.evaluator.c.code.label("evaluator"),
            tables.tyre_set.c.code.label("set"),
            brought.c.condition_id.label("condition"),
            tables.attribute.c.key.label("attribute"),
            brought.c.repeat,
            brought.c.value.label("score"),
            sa.null().label("pair"),
            sa.null().label("side"),
            brought.c.origin,
            brought.c.given_at,
            sa.null().label("role"),
            sa.literal(0).label("no_difference"),
            brought.c.brought_score_id.label("row_id"),
            mark.c.brought_mark_id.is_not(None).label("is_marked"),
        )
        .select_from(brought)
        .outerjoin(mark, mark.c.brought_score_id == brought.c.brought_score_id)
        .join(tables.evaluator, tables.evaluator.c.evaluator_id == brought.c.evaluator_id)
        .join(tables.tyre_set, tables.tyre_set.c.set_id == brought.c.set_id)
        .join(tables.attribute, tables.attribute.c.attribute_id == brought.c.attribute_id)
        .order_by(brought.c.brought_score_id)
    )
    return _with_titles(connection, _frame(connection, query))


def count_scores(connection: sa.Connection) -> int:
    """Return how many scores count, those brought in among them."""
    score, brought = tables.score, tables.brought_score
    latest = sa.select(sa.func.max(score.c.score_id)).group_by(
        score.c.pair_id, score.c.side, score.c.attribute_id
    )
    counts = (
        sa.select(sa.func.count()).where(score.c.score_id.in_(latest), score.c.value.is_not(None)),
        sa.select(sa.func.count(brought.c.brought_score_id)),
    )
    return sum(int(connection.execute(count).scalar_one()) for count in counts)


def number_repeats(given: pd.DataFrame, brought: pd.DataFrame) -> list[int]:
    """Return which repeat of its cell each given score is, in the order of hearing.

    Parameters
    ----------
    given, brought
        As `given_scores` and `brought_scores` return them.

    Returns
    -------
    list of int
        One per row of `given`, from 1; numbers that a score brought in as listened bears already
        are passed over, so that a number once told stays with its score.
    """
    heard = brought[brought["origin"] == "listened"]
    taken = set(heard[[*CELL, "repeat"]].itertuples(index=False, name=None))
    last: dict[tuple[object, ...], int] = {}
    numbers = []
    for cell in given[list(CELL)].itertuples(index=False, name=None):
        number = last.get(cell, 0) + 1
        while (*cell, number) in taken:
            number += 1
        last[cell] = number
        numbers.append(number)
    return numbers


def given_notes(connection: sa.Connection) -> pd.DataFrame:
    """Return the notes that count, one row per pair and side that has one."""
    note, pair = tables.note, tables.pair
    latest = (
        sa.select(sa.func.max(note.c.note_id).label("note_id"))
        .group_by(note.c.pair_id, note.c.side)
        .subquery()
    )
    query = (
        sa.select(
            *_WHOSE,
            pair.c.position.label("pair"),
            note.c.side,
            note.c.text,
            note.c.given_at,
        )
        .select_from(_with_origin(note))
        .join(latest, latest.c.note_id == note.c.note_id)
        .where(note.c.text != "")
        .order_by(tables.session.c.ordinal, pair.c.position, note.c.side)
    )
    return _with_titles(connection, _frame(connection, query))


def _with_origin(answer: sa.TableClause) -> sa.FromClause:
    """Join answers about a side of a pair with who gave them and which set played there."""
    pair, source, recording = tables.pair, tables.clip_source, tables.recording
    clip_id = sa.case((answer.c.side == "A", pair.c.clip_a), else_=pair.c.clip_b)
    return (
        answer.join(pair, pair.c.pair_id == answer.c.pair_id)
        .join(tables.session, tables.session.c.session_id == pair.c.session_id)
        .join(tables.seat, tables.seat.c.session_id == pair.c.session_id)
        .join(tables.evaluator, tables.evaluator.c.evaluator_id == tables.seat.c.evaluator_id)
        .join(source, source.c.clip_id == clip_id)
        .join(recording, recording.c.recording_id == source.c.recording_id)
        .join(tables.tyre_set, tables.tyre_set.c.set_id == recording.c.set_id)
    )


def _frame(connection: sa.Connection, query: sa.Select[tuple[object]]) -> pd.DataFrame:
    import pandas as pd

    result = connection.execute(query)
    return pd.DataFrame(result.all(), columns=list(result.keys()))


def _with_titles(connection: sa.Connection, table: pd.DataFrame) -> pd.DataFrame:
    titles = {
        row.condition_id: condition_from(row).title
        for row in connection.execute(sa.select(tables.condition))
    }
    return table.assign(condition=table["condition"].map(titles))


def pair_times(connection: sa.Connection) -> pd.DataFrame:
    """Return the time spent on every pair that tells one, in order of sessions and pairs."""
    import pandas as pd

    events = sa.select(tables.pair_event).order_by(tables.pair_event.c.pair_event_id)
    durations_s = pair_durations_s(connection.execute(events))
    rows = [
        (
            row.evaluator,
            row.pair,
            row.role,
            durations_s[row.pair_id],
            row.frames_a / row.rate_a_hz + row.frames_b / row.rate_b_hz,
        )
        for row in connection.execute(_closed_pairs())
        if row.pair_id in durations_s
    ]
    # Typed, so that a table without rows is one of numbers too.
    return pd.DataFrame(
        rows, columns=["evaluator", "pair", "role", "seconds", "both_sides_s"]
    ).astype({"seconds": "float64", "both_sides_s": "float64"})


def _closed_pairs() -> sa.Select[tuple[object]]:
    pair, role = tables.pair, tables.pair_role
    clip_a, clip_b = tables.clip.alias("side_a"), tables.clip.alias("side_b")
    return (
        sa.select(
            pair.c.pair_id,
            tables.evaluator.c.code.label("evaluator"),
            pair.c.position.label("pair"),
            role.c.role,
            clip_a.c.frames.label("frames_a"),
            clip_a.c.sample_rate_hz.label("rate_a_hz"),
            clip_b.c.frames.label("frames_b"),
            clip_b.c.sample_rate_hz.label("rate_b_hz"),
        )
        .select_from(pair)
        .join(tables.session, tables.session.c.session_id == pair.c.session_id)
        .join(tables.seat, tables.seat.c.session_id == pair.c.session_id)
        .join(tables.evaluator, tables.evaluator.c.evaluator_id == tables.seat.c.evaluator_id)
        .join(role, role.c.pair_id == pair.c.pair_id)
        .join(clip_a, clip_a.c.clip_id == pair.c.clip_a)
        .join(clip_b, clip_b.c.clip_id == pair.c.clip_b)
        .order_by(tables.session.c.ordinal, pair.c.position)
    )
