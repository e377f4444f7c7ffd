"""The draft of a new study in a file: written whole or not at all, read with all types checked.

The types of the draft's own fields are the form of the file, so that nothing is named twice.
"""

import itertools
import json
import math
import os
import threading
from collections.abc import Sequence
from dataclasses import MISSING, fields, is_dataclass
from pathlib import Path
from types import NoneType, UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from ratings.design.study_plan import LOWEST_GAIN_DB
from ratings.errors import StudyError, reason_of
from ratings.intake.study_draft import Draft

#: Raised when a draft of today could not be read by the program of yesterday.
_FORM = 1
_BEYOND_ANY_FIELD = 2**31


def draft_text(draft: Draft) -> str:
    """Write a draft down."""
    return json.dumps({"form": _FORM, "draft": _told(draft)}, indent=1, allow_nan=False)


def read_draft(text: str | bytes) -> Draft:
    """Read what `draft_text` wrote.

    Raises
    ------
    StudyError
        When it is of a newer release or damaged.
    """
    try:
        whole = json.loads(text, parse_constant=_refuse)
        if type(whole["form"]) is int and whole["form"] > _FORM:
            raise StudyError(
                "The draft of a new study was kept by a newer release.",
                "Open it there, or begin once more.",
            )
        _read(Literal[_FORM], whole["form"])
        draft: Draft = _read(Draft, whole["draft"])
        _check(draft)
    except (ValueError, TypeError, LookupError, OverflowError, RecursionError) as problem:
        raise StudyError(
            "The draft of a new study that was kept is damaged.", "Begin it once more."
        ) from problem
    return draft


class DraftFile:
    """One file for one draft; a writing that comes late never overwrites a newer one."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._writing = threading.Lock()
        self._written = 0

    def read(self) -> Draft | None:
        """Return the draft that was kept; None when there is none.

        Raises
        ------
        StudyError
            When it cannot be used; then the file lies under another name beside its place.
        """
        try:
            text = self.path.read_bytes()
        except (FileNotFoundError, NotADirectoryError):
            return None
        except OSError as problem:
            raise self._unusable(problem) from problem
        try:
            return read_draft(text)
        except StudyError as problem:
            aside = self._put_aside()
            raise StudyError(
                problem.what_happened, f"{problem.what_to_do} The file is now {aside}."
            ) from problem

    def write(self, draft: Draft | None, number: int) -> None:
        """Put a draft in place of the one before, or take that away; on any thread.

        Parameters
        ----------
        number
            Counts up; a draft with a lower number than the last one written is let go.

        Raises
        ------
        StudyError
            When the disk refuses; the one before stays.
        """
        with self._writing:
            if number <= self._written:
                return
            try:
                self._replace(None if draft is None else draft_text(draft))
            except OSError as problem:
                raise StudyError(
                    f"The draft cannot be kept on this computer: {reason_of(problem)}.",
                    "It stays as long as the window is open. Make room or allow writing in "
                    f"{self.path.parent}.",
                ) from problem
            self._written = number

    def _replace(self, text: str | None) -> None:
        if text is None:
            self.path.unlink(missing_ok=True)
            return
        self.path.parent.mkdir(parents=True, exist_ok=True)
        beside = self.path.with_suffix(".partial")
        with beside.open("w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(self.path)

    def _put_aside(self) -> Path:
        names = (self.path.with_suffix(f".unread-{n}.json") for n in itertools.count(1))
        aside = next(name for name in names if not name.exists())
        try:
            self.path.replace(aside)
        except OSError as problem:
            raise self._unusable(problem) from problem
        return aside

    def _unusable(self, problem: OSError) -> StudyError:
        return StudyError(
            f"The draft of a new study that was kept cannot be read: {reason_of(problem)}.",
            f"What you say now is not kept after closing. Allow reading {self.path}, then start "
            "again.",
        )


def _told(value: object) -> object:
    if is_dataclass(value):
        return {each.name: _told(getattr(value, each.name)) for each in fields(value)}
    if isinstance(value, Path):
        return str(value)
    if isinstance(value, frozenset):
        return sorted(value)
    if isinstance(value, tuple):
        return [_told(each) for each in value]
    return value


def _read(kind: Any, told: Any) -> Any:
    outer, inner = get_origin(kind), get_args(kind)
    if is_dataclass(kind):
        return _read_fields(kind, told)
    if outer in (Union, UnionType):
        some = next(each for each in inner if each is not NoneType)
        return None if told is None else _read(some, told)
    if outer is Literal and told in inner:
        return told
    if outer in (tuple, frozenset) and isinstance(told, list):
        kinds = [inner[0]] * len(told) if outer is frozenset or inner[-1] is ... else inner
        return outer(_read(each, value) for each, value in zip(kinds, told, strict=True))
    if kind is Path and isinstance(told, str) and "\0" not in told:
        return Path(told)
    if kind is float and type(told) in (int, float) and math.isfinite(told):
        return float(told)
    # By type, for True is an int too.
    if kind in (str, bool) and type(told) is kind:
        return told
    if kind is int and type(told) is int and abs(told) < _BEYOND_ANY_FIELD:
        return told
    raise ValueError(f"no {kind}: {told!r}")


def _read_fields(kind: Any, told: Any) -> Any:
    kinds, known = get_type_hints(kind), {each.name: each for each in fields(kind)}
    if not isinstance(told, dict) or not told.keys() <= known.keys():
        raise ValueError(f"no fields of {kind}")
    for name in known.keys() - told.keys():
        # A field that came later has what it has in a new draft.
        if known[name].default is MISSING and known[name].default_factory is MISSING:
            raise ValueError(f"{name} is missing")
    return kind(**{name: _read(kinds[name], value) for name, value in told.items()})


def _check(draft: Draft) -> None:
    """Refuse what no window can have said, and would show nowhere."""
    set_ids = [each.set_id for each in draft.sets]
    condition_ids = [each.condition_id for each in draft.conditions]
    cells = [each.cell for each in draft.files]
    keys = [each.key for each in draft.attributes]
    is_sound = (
        not any(_repeats(each) for each in (set_ids, condition_ids, cells, keys))
        and set(cells) <= set(itertools.product(set_ids, condition_ids))
        and sum(each.is_control for each in draft.sets) <= 1
        and draft.evaluator_count >= max(1, len(draft.evaluator_names))
        and min(draft.recorded.ears) >= 0
        and LOWEST_GAIN_DB <= draft.gain_db <= 0.0
    )
    if not is_sound:
        raise ValueError("not one draft")


def _repeats(each: Sequence[object]) -> bool:
    return len(set(each)) < len(each)


def _refuse(constant: str) -> float:
    raise ValueError(f"no number: {constant}")
