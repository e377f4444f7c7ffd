"""What the lead's side reads and brings in: the score table on blind codes, progress, notes.

Sets appear under their codes everywhere here; their names are read only to match a table that is
brought in.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import sqlalchemy as sa

from ratings.errors import ScoreTableError
from ratings.storage import tables
from ratings.storage.blind_study import utc_now
from ratings.storage.exposure_rows import Played, played_by_everyone_since, start_of_day
from ratings.storage.key import given_after, imported_after, names
from ratings.storage.listening_rows import condition_from
from ratings.storage.row_ids import add_row, add_rows
from ratings.storage.score_import import Names, calls_sets_by_name, rows_to_bring
from ratings.storage.score_rows import CELL, brought_scores, given_scores, number_repeats
from ratings.storage.seating import control_among, seat_evaluator
from ratings.storage.study_folder import Study
from ratings.study.listening import name_key

if TYPE_CHECKING:
    import pandas as pd

    from ratings.study.sets import Condition
    from ratings.study.study_settings import StudySettings


@dataclass(frozen=True, slots=True)
class ScorePreview:
    """What a table of scores would add, counted; nothing has been added.

    Attributes
    ----------
    namesakes
        Evaluators of the table who are called like somebody at a seat, each with the seat's code:
        a table means a seat only by its code.
    """

    scores: int
    evaluators: int
    attributes: int
    conditions: int
    namesakes: tuple[tuple[str, str], ...] = ()


class LeadDesk:
    """The lead's view of an open study, sets under blind codes."""

    def __init__(self, study: Study, clock: Callable[[], datetime] = utc_now) -> None:
        self.study = study
        self._clock = clock

    def codes(self) -> tuple[str, ...]:
        """Return the blind codes of the sets, in numerical order: the order says nothing."""
        with self._reading() as connection:
            return tuple(sorted(connection.execute(sa.select(tables.tyre_set.c.code)).scalars()))

    def control_code(self) -> str:
        """Return the code of the control."""
        query = sa.select(tables.tyre_set)
        with self._reading() as connection:
            return str(control_among(connection.execute(query).all()).code)

    def conditions(self) -> tuple[Condition, ...]:
        """Return the conditions in the order of the plan."""
        query = sa.select(tables.condition).order_by(tables.condition.c.position)
        with self._reading() as connection:
            return tuple(condition_from(row) for row in connection.execute(query))

    def score_table(self) -> pd.DataFrame:
        """Return every score that counts, one row each.

        Returns
        -------
        DataFrame
            Columns ``evaluator, set, condition, attribute, repeat, score, pair, side, origin,
            given_at`` as in the score table, ``role`` (candidate, null, repeat),
            ``no_difference``, which is alike on both sides of a pair, and ``after_opening``: may
            have been given after the key was opened first. Sets are blind codes; an
            evaluator's scores of a cell are repeats from 1, numbers that listened scores brought
            in bear already passed over. Rows brought in have no pair, side or role.

        Notes
        -----
        For the lead alone, also when saved: an evaluator's own scores, found again in any table by
        sets, tell which set a side was. Roles are in it because the means must leave the null pair
        and the repeat out, in other programs too.
        """
        with self._reading() as connection:
            return _score_table(connection)

    def settings(self) -> StudySettings:
        """Return what the lead settled for the verdict; `VerdictDesk` changes it."""
        from ratings.storage.verdict_desk import VerdictDesk

        return VerdictDesk(self.study).settings()

    def set_names(self) -> dict[str, str]:
        """Return the name of every set by its code, once the key has been opened.

        Raises
        ------
        StudyError
            While the key is closed.
        """
        return names(self.study)

    def note_table(self) -> pd.DataFrame:
        """Return the notes that count, sets under blind codes."""
        from ratings.storage.score_rows import given_notes

        with self._reading() as connection:
            return given_notes(connection)

    def pair_times(self) -> pd.DataFrame:
        """Return how long each pair took that has been closed.

        Returns
        -------
        DataFrame
            Columns ``evaluator, pair, role, seconds, both_sides_s``: seconds from the last
            opening to the closing, no more than a quarter of an hour, and the length of the two
            clips together. A pair without a time, as when the clock was put back, has no row.
        """
        from ratings.storage.score_rows import pair_times

        with self._reading() as connection:
            return pair_times(connection)

    def measurement_table(self) -> pd.DataFrame:
        """Return what has been measured, sets under blind codes.

        Returns
        -------
        DataFrame
            Columns ``set, condition, run, channel, figure, unit, value``: first the levels of
            the clips (``clip_leq_a``, ``clip_fast_max_a``), then the figures of every run's last
            measuring. Undefined values are NaN. ``attrs["sound_field"]`` is that of loudness and
            sharpness.
        """
        import pandas as pd

        from ratings.storage.measurement_rows import clip_levels, run_figures
        from ratings.study.figures import RUN_FIELD

        with self._reading() as connection:
            clips, runs = clip_levels(connection), run_figures(connection)
        table = pd.concat([clips, runs], ignore_index=True) if len(runs) else clips
        table.attrs["sound_field"] = RUN_FIELD
        return table

    def exposure_today(self) -> dict[str, list[Played]]:
        """Return what everybody was played since midnight, by evaluator code.

        Midnight is that of the place where this computer stands. Only what was played from this
        study is known here.
        """
        return self.exposure_of_days(1)

    def exposure_of_days(self, days: int) -> dict[str, list[Played]]:
        """Return what everybody was played on the last `days` days, today being the last one."""
        first_day = start_of_day(self._clock() - timedelta(days=days - 1))
        with self._reading() as connection:
            return played_by_everyone_since(connection, first_day)

    def last_change(self) -> tuple[int, int, int]:
        """Return numbers that change whenever scores, events or brought scores were added."""
        query = sa.select(
            *(
                sa.select(sa.func.coalesce(sa.func.max(column), 0)).scalar_subquery()
                for column in (
                    tables.score.c.score_id,
                    tables.pair_event.c.pair_event_id,
                    tables.brought_score.c.brought_score_id,
                )
            )
        )
        with self._reading() as connection:
            scores, events, brought = connection.execute(query).one()
            return int(scores), int(events), int(brought)

    def seat(self, name: str) -> int:
        """Add an evaluator with a session of their own; return the session's id."""
        with self.study.writing() as connection:
            return seat_evaluator(connection, name, self._clock())

    def bring_scores(self, path: Path) -> int:
        """Bring in a table of scores given elsewhere; return how many were added.

        The table is taken whole or not at all. Sets may be given by code or by name, conditions
        by title, attributes by key or name; evaluators that are new get added.

        Raises
        ------
        ScoreTableError
            Naming file, row and column of the first thing that is not a score of this study.
        """
        from ratings.study.score_table import read_score_table

        scale = self.study.facts.scale
        table = read_score_table(path, scale.low, scale.high)
        file_hash = hashlib.sha256(path.read_bytes()).hexdigest()
        with self.study.writing() as connection:
            if self._is_known(connection, file_hash):
                raise ScoreTableError(
                    f"{path.name} has been brought in before.", "Nothing was added again."
                )
            known = _score_table(connection)
            names = Names.of(connection)
            rows = rows_to_bring(table, known, names, path.name)
            evaluators = names.with_new_evaluators(connection, rows)
            common = {
                "file_name": path.name,
                "file_hash": file_hash,
                "brought_at": self._clock().isoformat(),
            }
            columns = [row.as_columns(evaluators) | common for row in rows]
            ids = add_rows(connection, tables.brought_score, columns)
            marked = [id_ for id_, row in zip(ids, rows, strict=True) if row.after_opening]
            add_rows(connection, tables.brought_mark, [{"brought_score_id": id_} for id_ in marked])
            add_row(
                connection,
                tables.score_import,
                file_hash=file_hash,
                sets_by_name=int(calls_sets_by_name(table, names)),
                imported_at=common["brought_at"],
            )
        return len(rows)

    def preview_scores(self, path: Path) -> ScorePreview:
        """Count what `bring_scores` would add, without adding it.

        Raises
        ------
        ScoreTableError
            As `bring_scores` does, and when no column says where the scores were given.
        """
        from ratings.study.score_table import read_score_table

        scale = self.study.facts.scale
        table = read_score_table(path, scale.low, scale.high)
        if "origin" not in table.columns:
            raise ScoreTableError(
                "The file does not say whether its scores were driven or listened.",
                "Add a column origin with one of these words.",
            )
        with self._reading() as connection:
            if self._is_known(connection, hashlib.sha256(path.read_bytes()).hexdigest()):
                raise ScoreTableError(
                    f"{path.name} has been brought in before.", "Nothing was added again."
                )
            names = Names.of(connection)
            rows = rows_to_bring(table, _score_table(connection), names, path.name)
            seats = _seats_by_name(connection)
        written = sorted({row.evaluator for row in rows} - set(seats.values()))
        return ScorePreview(
            scores=len(rows),
            evaluators=len({row.evaluator for row in rows}),
            attributes=len({row.attribute_id for row in rows}),
            conditions=len({row.condition_id for row in rows}),
            namesakes=tuple(
                (name, seats[name_key(name)]) for name in written if name_key(name) in seats
            ),
        )

    @staticmethod
    def _is_known(connection: sa.Connection, file_hash: str) -> bool:
        column = tables.brought_score.c.file_hash
        query = sa.select(sa.literal(1)).where(column == file_hash).limit(1)
        return connection.execute(query).first() is not None

    @contextmanager
    def _reading(self) -> Iterator[sa.Connection]:
        with self.study.reading() as connection:
            yield connection


def _seats_by_name(connection: sa.Connection) -> dict[str, str]:
    """Return the codes of seats by the names of those who sit there."""
    evaluator, seat = tables.evaluator, tables.seat
    query = sa.select(evaluator.c.code, evaluator.c.name).join(
        seat, seat.c.evaluator_id == evaluator.c.evaluator_id
    )
    return {name_key(row.name): row.code for row in connection.execute(query) if row.name.strip()}


def _score_table(connection: sa.Connection) -> pd.DataFrame:
    import pandas as pd

    given = given_scores(connection)
    brought = brought_scores(connection)
    given["repeat"] = number_repeats(given, brought)
    given["after_opening"] = given_after(connection, given).astype(bool)
    brought["after_opening"] = pd.Series(imported_after(connection, brought), dtype=bool)
    both = [table for table in (given, brought) if len(table)]
    table = pd.concat(both, ignore_index=True) if both else given
    front = [*CELL, "repeat", "score", "pair", "side", "origin", "given_at"]
    return table[[*front, "role", "no_difference", "after_opening"]]
