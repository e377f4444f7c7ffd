"""What may stand in each column: checked wherever a row is read, so that no page has to.

A study is a file from anywhere. What is read from it becomes a path, a date or a number of samples
further up; here is the one place where it is not trusted.
"""

import json
import math
import re
from collections.abc import Callable
from datetime import datetime
from typing import Any, get_args

import sqlalchemy as sa

from ratings.errors import StudyError
from ratings.study.figures import ROLES, Severity

_Check = Callable[[object], bool]

#: SQLite's whole numbers end here; 0 is the highest of no rows.
_HIGHEST_ID = 2**63 - 1
#: What a recording may be by far: a day of one at the highest rate has some 10^11 frames.
_MOST_FRAMES = 2**40
_HIGHEST_RATE_HZ = 10_000_000
_MOST_CHANNELS = 4_096
#: No stored number means anything beyond; its powers would overflow.
_LARGEST_NUMBER = 1e30

#: A name that cannot lead anywhere: no separator, drive, dot-dot or name that a system reserves.
_STORED_NAME = re.compile(r"[0-9a-z]{6,64}(\.[\w~+-]{1,30})?")
_CLIP_CODE = re.compile(r"[0-9]{1,12}")
_MASK_SEED = re.compile(r"[0-9a-f]{32}")
_SEED = re.compile(r"[0-9]{1,40}")
_SHA_256 = re.compile(r"[0-9a-f]{64}")


class BadCellError(StudyError):
    """A cell that this program has not written."""


class Cell(sa.types.UserDefinedType[Any]):
    """A column of a study, with the check of what is read from it.

    Parameters
    ----------
    place
        Table and column, for the sentence.
    check
        Tells whether a value that is not NULL may stand there.
    """

    cache_ok = True

    def __init__(self, place: str, check: _Check) -> None:
        self.place = place
        self.check = check

    def get_col_spec(self, **_: Any) -> str:
        """Give the column no type of its own: the migrations do."""
        return ""

    def bind_processor(self, dialect: sa.Dialect) -> Callable[[Any], Any]:  # noqa: ARG002
        """Write out what is no text, such as the bytes of a file's name, so that it can be kept."""
        return written

    def result_processor(self, dialect: sa.Dialect, coltype: object) -> Callable[[Any], Any]:  # noqa: ARG002
        """Refuse what this program has not written."""
        check, place = self.check, self.place

        def read(value: Any) -> Any:
            if value is not None and not check(value):
                raise BadCellError(f"{place} holds {_shown(value)}, which is out of range.")
            return value

        return read


def written(value: Any) -> Any:
    """Return a value as it is kept: bytes of a name that are no text become escapes."""
    if isinstance(value, str) and not value.isascii():
        return value.encode("utf-8", "backslashreplace").decode("utf-8")
    return value


def cell(table: str, column: str) -> Cell:
    """Return what may stand in a column."""
    check = _CHECKS.get(f"{table}.{column}") or _CHECKS.get(column)
    if check is None:
        check = _is_id if column.endswith("_id") else _is_text
    return Cell(f"{table}.{column}", check)


def _shown(value: object) -> str:
    # Of a cell of 200 MB its beginning is enough.
    words = ascii(value[:40] if isinstance(value, str | bytes) else value)
    return words if len(words) <= 40 else f"{words[:37]}..."


def _is_text(value: object) -> bool:
    return type(value) is str


def _is_id(value: object) -> bool:
    return type(value) is int and 0 <= value <= _HIGHEST_ID


def _is_number(value: object) -> bool:
    return isinstance(value, float | int) and abs(value) <= _LARGEST_NUMBER


def _is_any_number(value: object) -> bool:
    """Tell whether it is a number, or how one overflows or falls silent."""
    return isinstance(value, float | int)


def _is_level(value: object) -> bool:
    """Tell whether it is a number or the level of silence."""
    return _is_number(value) or value == -math.inf


def _is_above_zero(value: object) -> bool:
    return isinstance(value, float | int) and 0 < value <= _LARGEST_NUMBER


def _whole(lowest: int, highest: int) -> _Check:
    def is_whole(value: object) -> bool:
        return type(value) is int and lowest <= value <= highest

    return is_whole


def _like(pattern: re.Pattern[str]) -> _Check:
    def is_like(value: object) -> bool:
        return type(value) is str and pattern.fullmatch(value) is not None

    return is_like


def _one_of(*words: str) -> _Check:
    return frozenset(words).__contains__


def _is_moment(value: object) -> bool:
    try:
        return type(value) is str and datetime.fromisoformat(value).tzinfo is not None
    except ValueError:
        return False


def _json_of(*types: type) -> _Check:
    def is_json(value: object) -> bool:
        try:
            return type(value) is str and type(json.loads(value)) in types
        except (ValueError, RecursionError):
            return False

    return is_json


_yes_or_no = _whole(0, 1)
_code = _like(_CLIP_CODE)
_name = _like(_STORED_NAME)
_hash = _like(_SHA_256)
_position = _whole(0, 2**31)

#: By table and column, or by column alone; ids are whole numbers, and all others are texts.
_CHECKS: dict[str, _Check] = {
    "clip_a": _is_id,
    "clip_b": _is_id,
    "version": _is_id,
    "band_version": _is_id,
    "position": _position,
    "ordinal": _position,
    "run": _position,
    "repeat": _position,
    "pitches": _position,
    "anchors_version": _position,
    "design_version": _position,
    "seed": _like(_SEED),
    "is_invented": _yes_or_no,
    "is_control": _yes_or_no,
    "said_equal": _yes_or_no,
    "sets_by_name": _yes_or_no,
    "score_count": _is_id,
    "frames": _whole(1, _MOST_FRAMES),
    "sample_rate_hz": _whole(1, _HIGHEST_RATE_HZ),
    "channels": _whole(1, _MOST_CHANNELS),
    "left_channel": _whole(0, _MOST_CHANNELS),
    "right_channel": _whole(0, _MOST_CHANNELS),
    "channel_setting.channel": _whole(1, _MOST_CHANNELS),
    "speed_source.channel": _whole(1, _MOST_CHANNELS),
    "remark.channel": _whole(1, _MOST_CHANNELS),
    "clip.code": _code,
    "tyre_set.code": _code,
    "stored_name": _name,
    "arrays_name": _name,
    "content_hash": _hash,
    "file_hash": _hash,
    "equaliser": _hash,
    "side": _one_of("A", "B"),
    "manoeuvre": _one_of("steady", "coast-down"),
    "pair_event.kind": _one_of("opened", "heard A", "heard B", "locked", "rested"),
    "speed_source.kind": _one_of("file", "channel", "pulses", "constant", "none"),
    "pair_role.role": _one_of("candidate", "null", "repeat"),
    "comparison.role": _one_of("candidate", "null", "repeat"),
    "measuring.settings": _json_of(dict),
    "setting.value": _json_of(dict, int, str, type(None)),
    "mask_step": _is_above_zero,
    "mask_seed": _like(_MASK_SEED),
    "channel_setting.role": _one_of(*ROLES),
    "severity": _one_of(*get_args(Severity)),
    "origin": _one_of("listened", "driven"),
    "scale_low": _is_number,
    "scale_high": _is_number,
    "scale_step": _is_above_zero,
    "low_hz": _is_number,
    "high_hz": _is_number,
    "speed_km_h": _is_number,
    "end_speed_km_h": _is_number,
    "pa_per_full_scale": _is_above_zero,
    "peak_full_scale": _is_number,
    "leq_a_db_re_full_scale": _is_level,
    "fast_max_a_db_re_full_scale": _is_level,
    "score.value": _is_number,
    "brought_score.value": _is_number,
    "figure.value": _is_any_number,
    "start_s": _is_number,
    "stop_s": _is_number,
    "gain_db": _is_number,
    "air_c": _is_number,
    "surface_c": _is_number,
    "tyre_air_c": _is_number,
    "wind_m_s": _is_number,
    "pressure_front_kpa": _is_number,
    "pressure_rear_kpa": _is_number,
    "load_front_kg": _is_number,
    "load_rear_kg": _is_number,
    "km_h_per_unit": _is_number,
    "km_h_at_zero": _is_number,
    "pulses_per_metre": _is_number,
    "offset_s": _is_number,
    "seconds": _is_number,
    "level_db_a": _is_level,
    "output_db": _is_number,
    "below_db": _is_number,
    "created_at": _is_moment,
    "taken_at": _is_moment,
    "happened_at": _is_moment,
    "imported_at": _is_moment,
    "brought_at": _is_moment,
    "measured_at": _is_moment,
    "made_at": _is_moment,
    "set_at": _is_moment,
    "noted_at": _is_moment,
    "began_at": _is_moment,
    "opened_at": _is_moment,
    "score.given_at": _is_moment,
    "note.given_at": _is_moment,
}
