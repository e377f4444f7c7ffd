"""Build the invented sample study beside this script: ``python sample_sessions/build.py``.

Recordings come from ratings.synthesis, the study from the same steps that a lead takes, and the
scores from invented evaluators who sit through their sessions at the listening desk; then the lead
says of every run what its channels, speed and tyres are, and brings in further runs of one
condition. The result is the same each time but for what ties its two database files together, and
the time at which their migrations were applied.
"""

import shutil
import sqlite3
import tempfile
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import soundfile

from ratings.design.study_plan import ChosenRecording, StudyPlan
from ratings.intake.making import make_study
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.recording_desk import RecordingDesk
from ratings.storage.study_folder import Study
from ratings.storage.verdict_desk import VerdictDesk
from ratings.study.attributes import DEFAULT_ATTRIBUTES
from ratings.study.listening import SIDES, Side
from ratings.study.runs import (
    ChannelSetting,
    ConstantSpeed,
    NewRun,
    SpeedFile,
    SpeedSource,
    Tread,
)
from ratings.study.sets import Condition, TyreSet, Vehicle
from ratings.synthesis.invented_panel import InventedEvaluator, invented_panel, score
from ratings.synthesis.sample_study import (
    PA_PER_FULL_SCALE,
    SAMPLE_STUDY,
    SampleCondition,
    recording,
    speed_trace_km_h,
)
from ratings.synthesis.speed import TRACE_INTERVAL_S

HERE = Path(__file__).resolve().parent
STUDY = HERE / "alder_wagon"

#: Invented first names for the seats of the invented panel; the last seat waits for the visitor.
NAMES = ("Ines", "Tomke", "Aurel", "Mirja", "Joris", "Pella", "You")
#: How many pairs each has rated when the study is opened: one is still on the way.
RATED = {"E5": 7}
#: Each set is driven so often in this condition, once in the others.
REPEATED, RUNS = "coarse_80", 3
CHANNELS = (
    ChannelSetting("driver left ear", PA_PER_FULL_SCALE, "given"),
    ChannelSetting("driver right ear", PA_PER_FULL_SCALE, "given"),
)
#: A speed recorder gives so many of the trace's values: every 50 ms.
TRACE_STEP = 5


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
            path = write_run(folder, tyre_set.name, condition.key, 1)
            chosen.append(
                ChosenRecording(path, set_id, condition_id, pa_per_full_scale=PA_PER_FULL_SCALE)
            )
    return tuple(chosen)


def write_run(folder: Path, set_name: str, key: str, number: int) -> Path:
    """Make a run and write it as a 16-bit FLAC file."""
    sound = recording(SAMPLE_STUDY, set_name, key, number)
    which = "" if number == 1 else f"_{number}"
    path = folder / f"{set_name.lower()}_{key}{which}.flac"
    full_scale = sound.pressure_pa / PA_PER_FULL_SCALE
    soundfile.write(path, full_scale, sound.sample_rate_hz, subtype="PCM_16")
    return path


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
    return _asked(
        study,
        "SELECT clip_id, name FROM clip_source JOIN recording USING (recording_id) "
        "JOIN tyre_set USING (set_id)",
    )


def names_by_recording(study: Study) -> dict[int, str]:
    """Tell which set was driven in each recording."""
    return _asked(study, "SELECT recording_id, name FROM recording JOIN tyre_set USING (set_id)")


def _asked(study: Study, query: str) -> dict[int, str]:
    connection = sqlite3.connect(study.folder.lead_database)
    rows = connection.execute(query).fetchall()
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


def describe_runs(study: Study, folder: Path, clock: PanelClock) -> None:
    """Say of every run what its channels, speed and tyres are, and bring in the further runs."""
    desk = RecordingDesk(study, clock)
    conditions = list(zip(SAMPLE_STUDY.conditions, desk.conditions(), strict=True))
    keys = {title.title: condition for condition, title in conditions}
    name_of = names_by_recording(study)
    for run in desk.runs():
        condition = keys[run.condition.title]
        desk.set_channels(run.recording_id, CHANNELS)
        speed = speed_source(folder, name_of[run.recording_id], condition)
        desk.set_speed(run.recording_id, speed)
    for set_id, each in enumerate(SAMPLE_STUDY.sets, start=1):
        desk.set_tread(set_id, Tread(each.tyre.size, each.tyre.pitch_count))
        for condition, told in conditions:
            if condition.key != REPEATED:
                continue
            for number in range(2, RUNS + 1):
                path = write_run(folder, each.name, condition.key, number)
                speed = speed_source(folder, each.name, condition)
                desk.bring_run(NewRun(path, set_id, told.condition_id, CHANNELS, speed=speed))


def speed_source(folder: Path, set_name: str, condition: SampleCondition) -> SpeedSource:
    """Return the speed of a run: the one that is held, or a table of what a recorder wrote."""
    if condition.end_speed_km_h is None:
        return ConstantSpeed(condition.speed_km_h)
    trace = speed_trace_km_h(SAMPLE_STUDY, set_name, condition.key)[::TRACE_STEP]
    rows = (f"{n * TRACE_STEP * TRACE_INTERVAL_S:.2f},{each:.3f}" for n, each in enumerate(trace))
    path = folder / f"{set_name.lower()}_{condition.key}_speed.csv"
    path.write_text("\n".join(("time_s,speed_km_h", *rows, "")), encoding="utf-8")
    return SpeedFile(path)


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
    # Said before anybody rates, as a lead should: looks are judged by it.
    VerdictDesk(study, clock).set_planned_evaluators(len(invented_panel()))
    seats = session_seats(study)
    for day, (evaluator, seat) in enumerate(zip(invented_panel(), seats, strict=False)):
        say(f"{evaluator.name} listens")
        rng = np.random.default_rng([SAMPLE_STUDY.seed, day])
        desk = ListeningDesk(study, seat.session_id, PanelClock(day // 2, rng))
        pair_count = RATED.get(evaluator.name, seat.pair_count)
        sit_through(desk, evaluator, pair_count, set_of, rng)
    say("describing the runs")
    with tempfile.TemporaryDirectory() as folder:
        describe_runs(study, Path(folder), PanelClock(4, np.random.default_rng(SAMPLE_STUDY.seed)))
    study.close()
    # Clips are cut again from the recordings when the study is first opened.
    shutil.rmtree(study.folder.clips)


if __name__ == "__main__":
    build(print)
