"""What an evaluator's side may read and write: blind clips, and answers that are kept as given.

Only the blind tables are read here (see tables.BLIND); nothing in this module can say which set a
clip is of.
"""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import sqlalchemy as sa

from ratings.design.session_length import break_positions, seconds_left, seconds_per_pair
from ratings.errors import StudyError
from ratings.storage import tables
from ratings.storage.blind_study import BlindStudy, utc_now
from ratings.storage.exposure_rows import Played, played_since, start_of_day
from ratings.storage.listening_rows import (
    PairAnswers,
    evaluator_of,
    is_begun,
    pair_durations_s,
    pairs_of,
    take_event,
)
from ratings.storage.row_ids import add_row, add_rows
from ratings.study.attributes import Attribute
from ratings.study.listening import SIDES, BlindClip, Evaluator, Pair, PlayedLevel, Side
from ratings.study.score_trail import Given

#: A break is proposed again to whoever reopens the session within this time (common practice, no
#: source).
BREAK_S = 5 * 60.0


class UnheardError(StudyError):
    """A side was not heard at the level at which the pair is played now."""


@dataclass(frozen=True, slots=True)
class SessionSeat:
    """A session that waits for its evaluator, with how far it has got.

    Attributes
    ----------
    is_begun
        Whether anything is kept of it, see `listening_rows.is_begun`.
    """

    session_id: int
    evaluator: Evaluator
    pair_count: int
    locked_count: int
    is_begun: bool

    @property
    def is_finished(self) -> bool:
        """Whether every pair is closed."""
        return self.locked_count == self.pair_count


def session_seats(study: BlindStudy) -> tuple[SessionSeat, ...]:
    """Return the sessions of a study that somebody has taken, in the order of their making."""
    locked = (
        sa.select(tables.pair_event.c.pair_id)
        .where(tables.pair_event.c.kind == "locked")
        .distinct()
        .subquery()
    )
    query = (
        sa.select(
            tables.session.c.session_id,
            tables.evaluator,
            sa.func.count(tables.pair.c.pair_id).label("pairs"),
            sa.func.count(locked.c.pair_id).label("locked"),
            is_begun(tables.session.c.session_id, tables.evaluator.c.evaluator_id).label("begun"),
        )
        .select_from(tables.session)
        .join(tables.seat, tables.seat.c.session_id == tables.session.c.session_id)
        .join(tables.evaluator, tables.evaluator.c.evaluator_id == tables.seat.c.evaluator_id)
        .join(tables.pair, tables.pair.c.session_id == tables.session.c.session_id)
        .outerjoin(locked, locked.c.pair_id == tables.pair.c.pair_id)
        .group_by(
            tables.session.c.session_id,
            tables.evaluator.c.evaluator_id,
            tables.evaluator.c.code,
            tables.evaluator.c.name,
        )
        .order_by(tables.session.c.ordinal)
    )
    with study.reading() as connection:
        return tuple(
            SessionSeat(
                row.session_id,
                Evaluator(row.evaluator_id, row.code, row.name),
                row.pairs,
                row.locked,
                bool(row.begun),
            )
            for row in connection.execute(query)
        )


class ListeningDesk:
    """One evaluator's session: its pairs in order, and everything given so far.

    Every `record_` method returns once the answer is on the disk, or raises a StudyError and
    leaves what was given before as it is.

    Attributes
    ----------
    study, evaluator, scale, attributes, pairs, breaks
        ``breaks`` are the numbers of pairs after which a rest is proposed.

    Parameters
    ----------
    mend
        Called with the code of a clip that is to be cut again: what that needs identifies, so it
        is handed in from outside. None when nobody can.
    """

    def __init__(
        self,
        study: BlindStudy,
        session_id: int,
        clock: Callable[[], datetime] = utc_now,
        mend: Callable[[str], None] | None = None,
    ) -> None:
        self.study = study
        self._mend = mend
        self.session_id = session_id
        self.scale = study.facts.scale
        self.attributes = study.attributes
        self._clock = clock
        with study.reading() as connection:
            self.evaluator = evaluator_of(connection, session_id)
            self.pairs = pairs_of(connection, session_id)
            self._attribute_ids = {
                row.key: row.attribute_id for row in connection.execute(sa.select(tables.attribute))
            }
        self._pair_ids = frozenset(pair.pair_id for pair in self.pairs)
        self._expected_pair_s = seconds_per_pair(
            len(self.attributes), max(pair.clip_a.duration_s for pair in self.pairs)
        )
        self.breaks = break_positions(len(self.pairs), self._expected_pair_s)

    def clip_file(self, clip: BlindClip) -> Path:
        """Return where the sound of a clip lies."""
        return self.study.folder.clip_file(clip.code)

    def mend(self, clip: BlindClip) -> None:
        """Have a clip that is missing or damaged cut again, where the lead's file is at hand.

        Raises
        ------
        StudyError
            When it cannot be.
        """
        if self._mend is None:
            raise StudyError(
                f"Clip {clip.code} of {self.study.folder.name} is missing or damaged.",
                "Your scores are safe. Let the lead open the study: that cuts it again.",
            )
        self._mend(clip.code)

    def answers(self) -> dict[int, PairAnswers]:
        """Return everything given in this session so far, by pair id, read from the disk."""
        answers = {pair.pair_id: PairAnswers() for pair in self.pairs}
        keys = {number: key for key, number in self._attribute_ids.items()}
        with self.study.reading() as connection:
            for row in connection.execute(self._own(tables.score, tables.score.c.score_id)):
                given = Given(row.value, bool(row.said_equal), row.given_at)
                answers[row.pair_id].take_score(keys[row.attribute_id], row.side, given)
            for row in connection.execute(self._own(tables.note, tables.note.c.note_id)):
                answers[row.pair_id].notes[row.side] = row.text
            events = self._own(tables.pair_event, tables.pair_event.c.pair_event_id)
            for row in connection.execute(events):
                take_event(answers[row.pair_id], row)
        return answers

    def attributes_of(self, pair: Pair) -> tuple[Attribute, ...]:
        """Return what is rated for a pair: the attributes that its manoeuvre can show."""
        return tuple(a for a in self.attributes if a.manoeuvre in (None, pair.manoeuvre))

    def seconds_left(self) -> float:
        """Estimate the time that the rest of the session takes, in seconds."""
        with self.study.reading() as connection:
            events = self._own(tables.pair_event, tables.pair_event.c.pair_event_id)
            rows = connection.execute(events).all()
        durations_s = list(pair_durations_s(rows).values())
        locked = {row.pair_id for row in rows if row.kind == "locked"}
        return seconds_left(durations_s, len(self.pairs) - len(locked), self._expected_pair_s)

    def break_is_due(self, answers: Mapping[int, PairAnswers]) -> bool:
        """Tell whether the session stands in a proposed break that nobody has ended.

        Parameters
        ----------
        answers
            As `answers` returns them.
        """
        following = next((pair for pair in self.pairs if not answers[pair.pair_id].is_locked), None)
        if following is None or following.position - 1 not in self.breaks:
            return False
        if answers[following.pair_id].is_rested:
            return False
        events = tables.pair_event
        own = self._own(events, events.c.pair_event_id.desc()).where(events.c.kind == "locked")
        with self.study.reading() as connection:
            row = connection.execute(own.limit(1)).first()
        if row is None:
            return False
        since_s = (self._clock() - datetime.fromisoformat(row.happened_at)).total_seconds()
        # Whoever comes back later has rested anyway.
        return abs(since_s) < BREAK_S

    def record_scores(
        self,
        pair_id: int,
        attribute_key: str,
        values: Mapping[Side, float | None],
        *,
        said_equal: bool = False,
    ) -> str:
        """Keep the scores of one attribute, of one side or of both at once; return when.

        Raises
        ------
        StudyError
            Off the scale, before both sides were heard, after the pair was locked, or when it
            cannot be written.
        """
        for value in values.values():
            if value is not None and not self.scale.holds(value):
                raise StudyError(
                    f"{value:g} is not a step of the scale from {self.scale.low:g} to "
                    f"{self.scale.high:g} by {self.scale.step:g}.",
                    "Nothing was changed.",
                )
        with self._writing(pair_id) as connection:
            self._refuse_unheard(connection, pair_id)
            now = self._clock().isoformat()
            rows = [
                {
                    "pair_id": pair_id,
                    "side": side,
                    "attribute_id": self._attribute_ids[attribute_key],
                    "value": value,
                    "said_equal": int(said_equal),
                    "given_at": now,
                }
                for side, value in values.items()
            ]
            add_rows(connection, tables.score, rows)
        return now

    def record_note(self, pair_id: int, side: Side, text: str) -> None:
        """Keep what the evaluator wrote about one side."""
        with self._writing(pair_id) as connection:
            given_at = self._clock().isoformat()
            add_row(
                connection, tables.note, pair_id=pair_id, side=side, text=text, given_at=given_at
            )

    def record_opened(self, pair_id: int, level: PlayedLevel | None = None) -> None:
        """Keep when the evaluator came to this pair, and how loud it is played from now on."""
        self._record_event(pair_id, "opened", level)

    def record_heard(self, pair_id: int, side: Side) -> None:
        """Keep that a side has been heard for long enough."""
        self._record_event(pair_id, f"heard {side}")

    def record_rested(self, pair_id: int) -> None:
        """Keep that the break proposed before this pair is over."""
        self._record_event(pair_id, "rested")

    def lock(self, pair_id: int) -> None:
        """Close a pair for good; its scores stay as they are.

        Raises
        ------
        StudyError
            While an attribute has no score on a side, or a side was not heard at the level at which
        the pair is played now.
        """
        answers = self.answers()[pair_id]
        pair = next(pair for pair in self.pairs if pair.pair_id == pair_id)
        for attribute in self.attributes_of(pair):
            for side in SIDES:
                if side not in answers.scores.get(attribute.key, {}):
                    raise StudyError(
                        f"{attribute.name} has no score for side {side} yet.",
                        "Score it, or press = for no difference; then go on.",
                    )
        with self._writing(pair_id) as connection:
            self._refuse_unheard(connection, pair_id)
            self._add_event(connection, pair_id, "locked")

    def note_exposure(self, seconds: float, level_db_a: float | None) -> None:
        """Keep what the evaluator has just been played, when it ends; not which clip it was.

        Parameters
        ----------
        level_db_a
            A-weighted equivalent level at the ear re 20 uPa, of no clip by itself: equal levels
            would show which clips are of one set. None when it is not known.
        """
        now = self._clock()
        with self.study.writing() as connection:
            add_row(
                connection,
                tables.exposure,
                evaluator_id=self.evaluator.evaluator_id,
                began_at=(now - timedelta(seconds=seconds)).isoformat(),
                seconds=seconds,
                level_db_a=level_db_a,
            )

    def exposure_today(self) -> list[Played]:
        """Return what this evaluator was played since midnight at this computer's place.

        Only what was played from this study is known here. One stretch tells how loud its clip is:
        show the evaluator sums.
        """
        return self.exposure_since(start_of_day(self._clock()))

    def exposure_since(self, since: datetime) -> list[Played]:
        """Return what this evaluator was played since an instant, in the order of hearing."""
        with self.study.reading() as connection:
            return played_since(connection, self.evaluator.evaluator_id, since)

    def _record_event(self, pair_id: int, kind: str, level: PlayedLevel | None = None) -> None:
        with self._writing(pair_id) as connection:
            self._add_event(connection, pair_id, kind, level)

    def _add_event(
        self, connection: sa.Connection, pair_id: int, kind: str, level: PlayedLevel | None = None
    ) -> None:
        add_row(
            connection,
            tables.pair_event,
            pair_id=pair_id,
            kind=kind,
            happened_at=self._clock().isoformat(),
            output_db=None if level is None else level.output_db,
            below_db=None if level is None else level.below_db,
        )

    def _own(self, table: sa.TableClause, order: sa.ColumnElement[int]) -> sa.Select[tuple[object]]:
        return sa.select(table).where(table.c.pair_id.in_(self._pair_ids)).order_by(order)

    @contextmanager
    def _writing(self, pair_id: int) -> Iterator[sa.Connection]:
        if pair_id not in self._pair_ids:
            raise StudyError("This pair belongs to another session.", "Nothing was changed.")
        with self.study.writing() as connection:
            if self._has_event(connection, pair_id, "locked"):
                raise StudyError(
                    "This pair is closed; its scores stay as they were given.",
                    "Go on with the next pair.",
                )
            yield connection

    def _refuse_unheard(self, connection: sa.Connection, pair_id: int) -> None:
        events = tables.pair_event
        query = sa.select(events).where(events.c.pair_id == pair_id)
        answers = PairAnswers()
        for row in connection.execute(query.order_by(events.c.pair_event_id)):
            take_event(answers, row)
        for side in SIDES:
            if side not in answers.heard:
                raise UnheardError(
                    f"Side {side} has not been heard yet.", "Listen to both sides, then score."
                )

    @staticmethod
    def _has_event(connection: sa.Connection, pair_id: int, kind: str) -> bool:
        events = tables.pair_event
        query = sa.select(sa.literal(1)).where(events.c.pair_id == pair_id, events.c.kind == kind)
        return connection.execute(query.limit(1)).first() is not None
