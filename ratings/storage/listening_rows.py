"""Rows of the blind tables turned into what an evaluator meets."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime

import sqlalchemy as sa

from ratings.storage import tables
from ratings.study.listening import BlindClip, Evaluator, Pair, PlayedLevel, Side
from ratings.study.score_trail import Given, ScoreTrail
from ratings.study.sets import Condition

#: An idle person is not a slow one: what lies beyond this is not counted as work on a pair.
LONGEST_PAIR_S = 15 * 60.0


@dataclass(slots=True)
class PairAnswers:
    """What has been answered about one pair so far; the latest of each counts.

    Attributes
    ----------
    scores
        Attribute key -> side -> score.
    said_equal
        Keys of the attributes answered with "no difference".
    trails
        Attribute key and side -> what stood there, score by score.
    notes
        Side -> text.
    heard
        Sides that have been heard, at the level at which the pair is played.
    level
        How loud the pair was played last; None when that was not kept.
    """

    scores: dict[str, dict[Side, float]] = field(default_factory=dict)
    said_equal: set[str] = field(default_factory=set)
    trails: dict[tuple[str, Side], ScoreTrail] = field(
        default_factory=lambda: defaultdict(ScoreTrail)
    )
    notes: dict[Side, str] = field(default_factory=dict)
    heard: set[Side] = field(default_factory=set)
    level: PlayedLevel | None = None
    is_locked: bool = False
    is_rested: bool = False

    def take_score(self, key: str, side: Side, given: Given) -> None:
        """Let a score count; scores come in the order in which they were given."""
        sides = self.scores.setdefault(key, {})
        if given.value is None:
            sides.pop(side, None)
        else:
            sides[side] = given.value
        if given.said_equal:
            self.said_equal.add(key)
        else:
            self.said_equal.discard(key)
        self.trails[key, side].take(given)

    def open_at(self, level: PlayedLevel | None) -> bool:
        """Let the pair be opened at a level; tell whether what was heard no longer counts.

        Both sides are judged as they are played: at another level both must be heard again.
        """
        before, self.level = self.level, level or self.level
        if level is None or before is None or level.louder_db(before) == 0 or not self.heard:
            return False
        self.heard.clear()
        return True


def take_event(answers: PairAnswers, event: sa.Row[tuple[object]]) -> None:
    """Let one event of a pair count; events come in the order in which they happened."""
    kind = event.kind
    if kind == "opened" and event.below_db is not None:
        answers.open_at(PlayedLevel(event.below_db, event.output_db))
    elif kind == "heard A":
        answers.heard.add("A")
    elif kind == "heard B":
        answers.heard.add("B")
    elif kind == "locked":
        answers.is_locked = True
    elif kind == "rested":
        answers.is_rested = True


def pair_durations_s(events: Iterable[sa.Row[tuple[object]]]) -> dict[int, float]:
    """Return how long each closed pair took, in seconds, by pair id.

    Parameters
    ----------
    events
        Rows of the table of events, in the order in which they happened.

    Returns
    -------
    dict
        From the last opening to the closing, no longer than `LONGEST_PAIR_S`. Pairs that tell no
        time are not in it.
    """
    opened: dict[int, datetime] = {}
    durations_s = {}
    for row in events:
        if row.kind == "opened":
            # A pair that was left and taken up again counts from the last time.
            opened[row.pair_id] = datetime.fromisoformat(row.happened_at)
        elif row.kind == "locked" and row.pair_id in opened:
            locked = datetime.fromisoformat(row.happened_at)
            duration_s = (locked - opened[row.pair_id]).total_seconds()
            # A clock that was put back in the middle of a pair tells nothing about it.
            if duration_s > 0:
                durations_s[row.pair_id] = min(duration_s, LONGEST_PAIR_S)
    return durations_s


def is_begun(
    session_id: sa.ColumnElement[int], evaluator_id: sa.ColumnElement[int]
) -> sa.ColumnElement[bool]:
    """Tell whether anything is kept of a seat: an event, a score, a note or listening time."""
    own = tables.pair.alias("own_pair")
    kept = [
        sa.exists().where(own.c.session_id == session_id, table.c.pair_id == own.c.pair_id)
        for table in (tables.pair_event, tables.score, tables.note)
    ]
    return sa.or_(*kept, sa.exists().where(tables.exposure.c.evaluator_id == evaluator_id))


def evaluator_of(connection: sa.Connection, session_id: int) -> Evaluator:
    """Return who a session belongs to."""
    query = (
        sa.select(tables.evaluator)
        .join(tables.seat, tables.seat.c.evaluator_id == tables.evaluator.c.evaluator_id)
        .where(tables.seat.c.session_id == session_id)
    )
    row = connection.execute(query).one()
    return Evaluator(row.evaluator_id, row.code, row.name)


def pairs_of(connection: sa.Connection, session_id: int) -> tuple[Pair, ...]:
    """Return the pairs of a session in the order in which they are heard."""
    conditions = {
        row.condition_id: condition_from(row)
        for row in connection.execute(sa.select(tables.condition))
    }
    clips = {row.clip_id: blind_clip(row) for row in connection.execute(sa.select(tables.clip))}
    columns = tables.pair.c
    rows = connection.execute(
        sa.select(tables.pair).where(columns.session_id == session_id).order_by(columns.position)
    )
    return tuple(
        Pair(
            pair_id=row.pair_id,
            position=row.position,
            condition_title=conditions[row.condition_id].title,
            manoeuvre=conditions[row.condition_id].manoeuvre,
            clip_a=clips[row.clip_a],
            clip_b=clips[row.clip_b],
        )
        for row in rows
    )


def condition_from(row: sa.Row[tuple[object]]) -> Condition:
    """Return the condition that a row holds."""
    return Condition(
        row.condition_id, row.surface, row.manoeuvre, row.speed_km_h, row.end_speed_km_h
    )


def blind_clip(row: sa.Row[tuple[object]]) -> BlindClip:
    """Return the clip that a row holds."""
    return BlindClip(
        clip_id=row.clip_id,
        code=row.code,
        content_hash=row.content_hash,
        sample_rate_hz=row.sample_rate_hz,
        frames=row.frames,
        pa_per_full_scale=row.pa_per_full_scale,
    )
