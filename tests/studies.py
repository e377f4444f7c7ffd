"""Small real studies for tests: sound files on disk, folders made by the library itself."""

import atexit
import functools
import shutil
import sqlite3
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import soundfile

from ratings.design.study_plan import ChosenRecording, StudyPlan
from ratings.intake.making import make_study
from ratings.storage.listening_desk import ListeningDesk
from ratings.storage.study_folder import open_study
from ratings.study.attributes import DEFAULT_ATTRIBUTES
from ratings.study.sets import Condition, TyreSet, Vehicle

RATE_HZ = 8000
SETS = ("Maple", "Birch", "Larch")


def write_noise(path: Path, seed: int, seconds: float = 2.5, rate_hz: int = RATE_HZ) -> Path:
    """Write a stereo recording of low noise, different for every seed."""
    rng = np.random.default_rng(seed)
    samples = 0.05 * rng.standard_normal((round(seconds * rate_hz), 2))
    soundfile.write(path, samples, rate_hz, subtype="PCM_16")
    return path


def small_plan(folder: Path, *, sets: int = 2, conditions: int = 1, **changes) -> StudyPlan:
    """Plan a study of short recordings, which are written to `folder`."""
    folder.mkdir(parents=True, exist_ok=True)
    tyre_sets = tuple(TyreSet(n + 1, SETS[n], is_control=n == 0) for n in range(sets))
    all_conditions = (
        Condition(1, "coarse asphalt", "steady", 80),
        Condition(2, "smooth asphalt", "coast-down", 80, 40),
    )[:conditions]
    recordings = tuple(
        ChosenRecording(
            write_noise(folder / f"{s.name}_{c.condition_id}.wav", 10 * s.set_id + c.condition_id),
            s.set_id,
            c.condition_id,
        )
        for s in tyre_sets
        for c in all_conditions
    )
    wanted = {
        "name": "Alder wagon, week 31",
        "vehicle": Vehicle("Alder wagon"),
        "sets": tyre_sets,
        "conditions": all_conditions,
        "recordings": recordings,
        "seed": 7,
        "attributes": DEFAULT_ATTRIBUTES[:2],
        "evaluators": ("Ada", "Bo"),
    }
    return StudyPlan(**(wanted | changes))


_workshop = tempfile.TemporaryDirectory(prefix="twinset-studies-")
atexit.register(_workshop.cleanup)


@functools.cache
def _made(wanted: tuple) -> Path:
    place = Path(_workshop.name) / str(len(list(Path(_workshop.name).iterdir())))
    make_study(place / "study", small_plan(place / "in", **dict(wanted))).close()
    return place / "study"


def small_study(folder: Path, **wanted):
    """Open a small study in `folder`/study; equal wishes are made once and copied."""
    shutil.copytree(_made(tuple(sorted(wanted.items()))), folder / "study")
    return open_study(folder / "study")


def raw_database(folder) -> sqlite3.Connection:
    """Open both files of a study behind the program's back, as its lead could."""
    raw = sqlite3.connect(folder.database)
    raw.execute("ATTACH DATABASE ? AS lead", (str(folder.lead_database),))
    return raw


def nth(table: str, number: int = 1) -> str:
    """Give the SQL for the id of the row that was the first, second ... of a table."""
    key = f"{table}_id"
    return f"(SELECT {key} FROM {table} ORDER BY {key} LIMIT 1 OFFSET {number - 1})"


def nth_id(folder, table: str, number: int = 1) -> int:
    """Return the id of the row that was the first, second ... of a table."""
    raw = raw_database(folder)
    (found,) = raw.execute(f"SELECT {nth(table, number)}").fetchone()
    raw.close()
    return found


class Clock:
    """A clock that goes on by a fixed step each time it is read."""

    def __init__(self, step_s: float = 1.0) -> None:
        self.now = datetime(2031, 7, 31, 9, 0, tzinfo=UTC)
        self.step = timedelta(seconds=step_s)

    def __call__(self) -> datetime:
        self.now += self.step
        return self.now


def noon_today() -> datetime:
    """Return noon at this place: what ends then began today, at whatever hour a test runs."""
    return datetime.now().astimezone().replace(hour=12, minute=0, second=0, microsecond=0)


def hear_both(desk: ListeningDesk, pair_id: int) -> None:
    desk.record_opened(pair_id)
    desk.record_heard(pair_id, "A")
    desk.record_heard(pair_id, "B")


def rate_pair(desk: ListeningDesk, pair, a: float = 7.0, b: float = 6.0) -> None:
    """Hear, score and lock one pair."""
    hear_both(desk, pair.pair_id)
    for attribute in desk.attributes_of(pair):
        desk.record_scores(pair.pair_id, attribute.key, {"A": a, "B": b})
    desk.lock(pair.pair_id)
