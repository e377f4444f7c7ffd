"""Build the invented sample study beside this script: ``python sample_sessions/build.py``.

Recordings come from ratings.synthesis, the study from the same steps that a lead takes, and the
scores from invented evaluators who sit through their sessions at the listening desk. The result is
the same each time but for the time at which the database's migrations were applied.
"""

import shutil
import sqlite3
import tempfile
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import soundfile

from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.making import make_study
from ratings.storage.study_folder import Study
from ratings.storage.study_plan import ChosenRecording, StudyPlan
from ratings.study.attributes import DEFAULT_ATTRIBUTES
from ratings.study.listening import SIDES, Side
from ratings.study.sets import Condition, TyreSet, Vehicle
from ratings.synthesis.invented_panel import InventedEvaluator, invented_panel, score
from ratings.synthesis.sample_study import PA_PER_FULL_SCALE, SAMPLE_STUDY, recording

HERE = Path(__file__).resolve().parent
STUDY = HERE / "alder_wagon"

#: Invented first names for the seats of the invented panel; the last seat waits for the visitor.
NAMES = ("Ines", "Tomke", "Aurel", "Mirja", "Joris", "Pella", "You")
#: How many pairs each has rated when the study is opened: one is still on the way.
RATED = {"E5": 7}


class PanelClock:
    """Time in an invented week: every answer takes some seconds."""

    def __init__(self, day: int, rng: np.random.Generator) -> None:
        self._now = datetime(2026, 7, 27 + day, 8, 30, tzinfo=UTC)
        self._rng = rng

    def __call__(self) -> datetime:
        """Return the time of the next answer."""
        self._now += timedelta(seconds=float(self._rng.uniform(3.0, 9.0)))
        return self._now.replace(microsecond=0)


def write_recordings(folder: Path) -> tuple[ChosenRecording, ...]:
    """Make the twelve recordings as 16-bit FLAC files."""
    chosen = []
    for set_id, tyre_set in enumerate(SAMPLE_STUDY.sets, start=1):
        for condition_id, condition in enumerate(SAMPLE_STUDY.conditions, start=1):
            sound = recording(SAMPLE_STUDY, tyre_set.name, condition.key)
            path = folder / f"{tyre_set.name.lower()}_{condition.key}.flac"
            full_scale = sound.pressure_pa / PA_PER_FULL_SCALE
            soundfile.write(path, full_scale, sound.sample_rate_hz, subtype="PCM_16")
            chosen.append(
                ChosenRecording(path, set_id, condition_id, pa_per_full_scale=PA_PER_FULL_SCALE)
            )
    return tuple(chosen)


def plan(recordings: tuple[ChosenRecording, ...]) -> StudyPlan:
    """Plan the study as a lead would."""
    surfaces = {"coarse_80": "coarse asphalt"}
    return StudyPlan(
        name=SAMPLE_STUDY.name,
        vehicle=Vehicle(SAMPLE_STUDY.vehicle.name),
        sets=tuple(
            TyreSet(number, each.name, each.is_control, each.tyre.size, each.note)
            for number, each in enumerate(SAMPLE_STUDY.sets, start=1)
        ),
        conditions=tuple(
            Condition(
                number,
                surfaces.get(each.key, "smooth asphalt"),
                each.manoeuvre,
                each.speed_km_h,
                each.end_speed_km_h,
            )
            for number, each in enumerate(SAMPLE_STUDY.conditions, start=1)
        ),
        recordings=recordings,
        seed=SAMPLE_STUDY.seed,
        attributes=DEFAULT_ATTRIBUTES,
        evaluators=NAMES,
        note=f"Tyres by {SAMPLE_STUDY.maker}. Vehicle, tyres, people and scores are invented too.",
        is_invented=True,
    )


def sets_by_clip(study: Study) -> dict[int, str]:
    """Tell which set each clip is of: the invented ears need to know what they hear."""
    connection = sqlite3.connect(study.folder.database)
    rows = connection.execute(
        "SELECT clip_id, name FROM clip_source JOIN recording USING (recording_id) "
        "JOIN tyre_set USING (set_id)"
    ).fetchall()
    connection.close()
    return dict(rows)


def sit_through(
    desk: ListeningDesk,
    evaluator: InventedEvaluator,
    pair_count: int,
    set_of: dict[int, str],
    rng: np.random.Generator,
) -> None:
    """Let an invented evaluator rate the first pairs of a session."""
    keys = {
        condition_title(number): each.key for number, each in enumerate(SAMPLE_STUDY.conditions)
    }
    for pair in desk.pairs[:pair_count]:
        desk.record_opened(pair.pair_id)
        for side in SIDES:
            desk.record_heard(pair.pair_id, side)
        for attribute in desk.attributes_of(pair):
            given: dict[Side, float | None] = {
                side: score(
                    evaluator,
                    set_of[pair.clip(side).clip_id],
                    keys[pair.condition_title],
                    attribute.key,
                    side,
                    rng,
                )
                for side in SIDES
            }
            is_equal = given["A"] == given["B"]
            desk.record_scores(pair.pair_id, attribute.key, given, said_equal=is_equal)
        desk.lock(pair.pair_id)


def condition_title(place: int) -> str:
    """Return the title of a condition by its place in the sample study."""
    return plan(()).conditions[place].title


def build(say: Callable[[str], object]) -> None:
    """Build the study in place of the one that is there."""
    shutil.rmtree(STUDY, ignore_errors=True)
    with tempfile.TemporaryDirectory() as folder:
        say("making the recordings")
        recordings = write_recordings(Path(folder))
        say("making the study")
        clock = PanelClock(0, np.random.default_rng(SAMPLE_STUDY.seed))
        study = make_study(STUDY, plan(recordings), clock=clock)
    set_of = sets_by_clip(study)
    seats = session_seats(study)
    for day, (evaluator, seat) in enumerate(zip(invented_panel(), seats, strict=False)):
        say(f"{evaluator.name} listens")
        rng = np.random.default_rng([SAMPLE_STUDY.seed, day])
        desk = ListeningDesk(study, seat.session_id, PanelClock(day // 2, rng))
        pair_count = RATED.get(evaluator.name, seat.pair_count)
        sit_through(desk, evaluator, pair_count, set_of, rng)
    study.close()
    # Clips are cut again from the recordings when the study is first opened.
    shutil.rmtree(study.folder.clips)


if __name__ == "__main__":
    build(print)
