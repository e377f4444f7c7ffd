"""What the lead settles for the verdict, read and changed: every change is a row of its own."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from typing import cast

import sqlalchemy as sa

from ratings.errors import RatingsError
from ratings.storage import tables
from ratings.storage.blind_study import utc_now
from ratings.storage.cells import BadCellError, written
from ratings.storage.measurement_rows import band_table
from ratings.storage.row_ids import add_row
from ratings.storage.score_rows import count_scores
from ratings.storage.study_folder import Study
from ratings.study.figures import title_of
from ratings.study.limits import LIMIT_NAMES, Limits
from ratings.study.study_settings import (
    PLACES,
    Place,
    StudySettings,
    figures_beside,
    is_measured,
)

_LIMITS = "limits"
_PLANNED = "planned_evaluators"
#: One setting for each attribute and each place, named by its key behind these.
_FIGURE, _WORDS = "figure_beside.", "lead_words."
_MOST_EVALUATORS = 1_000
#: What a change of their number is called.
PLANNED_EVALUATORS = "planned evaluators"

#: A setting as it is kept; None is "never said" or "none".
_Value = dict[str, float] | int | str | None


@dataclass(frozen=True, slots=True)
class SettingChange:
    """A setting that the lead changed, in words.

    Attributes
    ----------
    what
        Such as ``difference that matters``.
    before, after
        Such as ``0.5 points``; for the lead's own words these words, empty where the program's
        stood.
    changed_at
        In UTC.
    scores_then
        How many scores counted by then: a limit that was changed with scores in sight is a
        deviation.
    """

    what: str
    before: str
    after: str
    changed_at: datetime
    scores_then: int


class VerdictDesk:
    """The lead's view of an open study's settings.

    Every ``set_`` method keeps the change with its time, or does nothing when the setting is that
    already.
    """

    def __init__(self, study: Study, clock: Callable[[], datetime] = utc_now) -> None:
        self.study = study
        self._clock = clock

    def settings(self) -> StudySettings:
        """Return the settings as they are now; what was never changed has its default."""
        with self.study.reading() as connection:
            kept = _latest(connection)
            bands = band_table(connection).bands
            return StudySettings(
                limits=_limits_from(kept.get(_LIMITS)),
                planned_evaluators=_planned_from(kept.get(_PLANNED)),
                attribute_figures=figures_beside(
                    self.study.attributes, bands, _behind(kept, _FIGURE)
                ),
                lead_words={
                    place: text
                    for place, text in _behind(kept, _WORDS).items()
                    if place in PLACES and text
                },
            )

    def set_limits(self, limits: Limits) -> None:
        """Keep other limits; also after scores were given, which `changes` then tells."""
        self._keep(_LIMITS, asdict(limits), asdict(Limits()))

    def set_planned_evaluators(self, evaluators: int | None) -> None:
        """Keep how many evaluators are planned; None takes the plan back.

        Raises
        ------
        RatingsError
            For a number that no panel has.
        """
        if evaluators is not None and not _is_panel(evaluators):
            raise RatingsError(
                f"{evaluators} is not a number of evaluators.",
                f"Give a whole number from 1 to {_MOST_EVALUATORS}.",
            )
        self._keep(_PLANNED, evaluators, None)

    def set_attribute_figure(self, attribute: str, figure: str | None) -> None:
        """Keep which measured figure is named beside an attribute, both by key; None for none.

        Raises
        ------
        RatingsError
            When the study has no such attribute, or measures no such figure.
        """
        if attribute not in {each.key for each in self.study.attributes}:
            raise RatingsError(
                f"The study has no attribute {attribute}.", "Choose one that is rated in it."
            )
        with self.study.reading() as connection:
            bands = band_table(connection).bands
        if figure is not None and not is_measured(figure, bands):
            raise RatingsError(
                f"No figure {figure} is measured in this study.",
                "Choose a figure of the measurement, or add the band to the study's bands first.",
            )
        default = figures_beside(self.study.attributes, bands, {})[attribute]
        self._keep(f"{_FIGURE}{attribute}", figure, default)

    def set_lead_words(self, place: Place, text: str) -> None:
        """Keep what the lead writes in a place of verdict and report; empty for the program's."""
        if place not in PLACES:
            raise ValueError(place)
        words = written(text.replace("\r\n", "\n").strip())
        self._keep(f"{_WORDS}{place}", words, "")

    def changes(self) -> tuple[SettingChange, ...]:
        """Return what was changed and when, in order; each limit is a change of its own."""
        query = sa.select(tables.setting).order_by(tables.setting.c.setting_id)
        found: list[SettingChange] = []
        with self.study.reading() as connection:
            bands = band_table(connection).bands
            kept: dict[str, _Value] = {
                f"{_FIGURE}{key}": figure
                for key, figure in figures_beside(self.study.attributes, bands, {}).items()
            }
            for row in connection.execute(query):
                value = json.loads(row.value)
                moment = datetime.fromisoformat(row.set_at).astimezone(UTC)
                found += [
                    SettingChange(what, before, after, moment, row.score_count)
                    for what, before, after in self._told(row.name, kept.get(row.name), value)
                ]
                kept[row.name] = value
        return tuple(found)

    def _told(self, name: str, before: _Value, after: _Value) -> Iterator[tuple[str, str, str]]:
        """Say what a change was of, and what stood there before and after."""
        if name == _LIMITS:
            was, now = asdict(_limits_from(before)), asdict(_limits_from(after))
            for key, words in LIMIT_NAMES.items():
                if was[key] != now[key]:
                    yield words, _points(was[key]), _points(now[key])
        elif name == _PLANNED:
            both = (_planned_from(before), _planned_from(after))
            yield PLANNED_EVALUATORS, str(both[0] or "none"), str(both[1] or "none")
        elif name.startswith(_FIGURE):
            key = name.removeprefix(_FIGURE)
            called = {each.key: each.name.lower() for each in self.study.attributes}
            yield f"figure beside {called.get(key, key)}", _title(before), _title(after)
        elif name.startswith(_WORDS):
            yield name.removeprefix(_WORDS), str(before or ""), str(after or "")

    def last_change(self) -> tuple[int, int]:
        """Return numbers that change whenever a setting is changed or the key is opened."""
        ids = (tables.setting.c.setting_id, tables.key_opening.c.key_opening_id)
        query = sa.select(
            *(sa.select(sa.func.coalesce(sa.func.max(id_), 0)).scalar_subquery() for id_ in ids)
        )
        with self.study.reading() as connection:
            setting, opening = connection.execute(query).one()
            return int(setting), int(opening)

    def _keep(self, name: str, value: _Value, default: _Value) -> None:
        with self.study.writing() as connection:
            if _latest(connection).get(name, default) == value:
                return
            add_row(
                connection,
                tables.setting,
                name=name,
                value=json.dumps(value),
                score_count=count_scores(connection),
                set_at=self._clock().isoformat(),
            )


def _latest(connection: sa.Connection) -> dict[str, _Value]:
    """Return the value of each setting that was changed, by name."""
    setting = tables.setting.c
    latest = sa.select(sa.func.max(setting.setting_id)).group_by(setting.name)
    query = sa.select(tables.setting).where(setting.setting_id.in_(latest))
    return {row.name: json.loads(row.value) for row in connection.execute(query)}


def _behind(kept: Mapping[str, _Value], beginning: str) -> dict[str, str | None]:
    """Return the texts among the settings whose names begin so, by the rest of their names."""
    found: dict[str, str | None] = {}
    for name, value in kept.items():
        if name.startswith(beginning):
            if value is not None and not isinstance(value, str):
                raise BadCellError(f"The setting {name} is no text.")
            found[name.removeprefix(beginning)] = value
    return found


def _limits_from(value: _Value) -> Limits:
    if value is None:
        return Limits()
    try:
        return Limits(**cast("dict[str, float]", value))
    except (TypeError, RatingsError) as problem:
        raise BadCellError("The limits that were set are none.") from problem


def _planned_from(value: _Value) -> int | None:
    if value is not None and not _is_panel(value):
        raise BadCellError("The number of planned evaluators is none.")
    return cast("int | None", value)


def _is_panel(value: object) -> bool:
    return type(value) is int and 1 <= value <= _MOST_EVALUATORS


def _title(figure: _Value) -> str:
    return "none" if figure is None else title_of(str(figure))


def _points(value: float) -> str:
    return f"{value:g} {'point' if value == 1 else 'points'}"
