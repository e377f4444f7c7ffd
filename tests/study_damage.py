"""Studies damaged on purpose, and everything read of them that a page or command would read.

Run by hand: ``python tests/study_damage.py [HOW MANY] [FIRST]`` tells how each damage ended.
"""

import contextlib
import random
import shutil
import sqlite3
import sys
import tempfile
import traceback
from collections import Counter
from pathlib import Path

from studies import Clock, rate_pair, small_study

from ratings.errors import RatingsError
from ratings.findings.agreement import agreement
from ratings.findings.differences import differences
from ratings.findings.measured import measured
from ratings.reports.agreement_page import agreement_document, page_facts
from ratings.reports.as_html import html_of
from ratings.reports.written_notes import written_notes
from ratings.storage import key
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.mending import missing_clips, restore_clips
from ratings.storage.recording_desk import RecordingDesk
from ratings.storage.study_folder import Study, open_study
from ratings.storage.study_overview import study_overview
from ratings.storage.verdict_desk import VerdictDesk
from ratings.study.figures import Figure, Remark
from ratings.study.limits import Limits

#: What a damaged or hostile cell may hold.
STRANGE = (
    None,
    0,
    -1,
    1,
    2**62,
    -(2**63),
    1e300,
    float("inf"),
    float("-inf"),
    0.5,
    "",
    "seven",
    "7.5",
    "2031-13-45T99:99:99+00:00",
    "2031-07-31",
    "../../victim",
    "\0",
    "long " * 500,
    b"",
    b"\xff\xfe\x00blob",
    b"7",
)


def rated_study(folder: Path) -> Path:
    """Make a study of two sets that was listened to and measured; return its folder."""
    study = small_study(folder, sets=3, conditions=2)
    clock = Clock()
    for seat in session_seats(study):
        desk = ListeningDesk(study, seat.session_id, clock)
        for number, pair in enumerate(desk.pairs):
            rate_pair(desk, pair, 5 + number % 4, 8 - number % 3)
    runs = RecordingDesk(study, clock)
    for number, run in enumerate(runs.runs(), start=1):
        figures = [
            Figure("1", "leq_a", "dB", 60.0 + number),
            Figure("1", "leq", "dB", 70),
        ]
        remarks = [Remark("note", "a quiet run")]
        runs.keep_measurement(run.recording_id, figures, remarks, {}, {"level": [1.0, 2.0]}, 1)
    _lead(study, clock)
    study.close()
    return study.folder.path


def _lead(study: Study, clock: Clock) -> None:
    """Do what a lead does when all have finished: import, settle, open the key."""
    file = study.folder.path.with_name("driven.csv")
    file.write_text(
        "evaluator,set,condition,attribute,score,origin,after_opening\n"
        'D1,Birch,"coarse asphalt, 80 km/h",boom,6,driven,1\n'
    )
    LeadDesk(study, clock).bring_scores(file)
    desk = VerdictDesk(study, clock)
    desk.set_limits(Limits(matters=0.75))
    desk.set_planned_evaluators(8)
    desk.set_attribute_figure("boom", "leq_a")
    desk.set_lead_words("summary", "Birch is quieter.")
    key.open_key(study, "Ida", "all sessions are finished", clock)


def read_everything(path: Path) -> None:
    """Open a study and read all that a person could; only refusals in words may come of it."""
    study = open_study(path)
    try:
        parts = (_read_clips, _read_seats, _read_findings, _read_runs, _read_settings)
        for part in (*parts, study_overview):
            # One part that is refused keeps nobody from the others.
            with contextlib.suppress(RatingsError):
                part(study)
    finally:
        study.close()


def _read_clips(study: Study) -> None:
    missing_clips(study)
    restore_clips(study)


def _read_seats(study: Study) -> None:
    for seat in session_seats(study):
        desk = ListeningDesk(study, seat.session_id)
        answers = desk.answers()
        desk.seconds_left()
        desk.break_is_due(answers)
        desk.exposure_today()
        for pair in desk.pairs:
            desk.attributes_of(pair)
            for clip in (pair.clip_a, pair.clip_b):
                desk.clip_file(clip)
                assert clip.duration_s > 0
        first = desk.pairs[0]
        with contextlib.suppress(RatingsError):
            desk.record_heard(first.pair_id, "A")


def _read_findings(study: Study) -> None:
    desk = LeadDesk(study)
    desk.exposure_today()
    table = desk.score_table()
    blocks = agreement(table, study.facts.scale, pair_times=desk.pair_times())
    html_of(
        agreement_document(page_facts(study, Clock()()), blocks, written_notes(desk.note_table()))
    )
    measured(desk.measurement_table(), desk.control_code())
    differences(table, desk.control_code(), study.facts.scale)


def _read_settings(study: Study) -> None:
    desk = VerdictDesk(study)
    for read in (desk.settings, desk.changes, desk.last_change):
        with contextlib.suppress(RatingsError):
            read()
    for read in (key.opening, key.names, key.blindness_log):
        with contextlib.suppress(RatingsError):
            read(study)


def _read_runs(study: Study) -> None:
    desk = RecordingDesk(study)
    desk.sets(), desk.conditions(), desk.band_table(), desk.treads(), desk.measurement_table()
    for run in desk.runs():
        number = run.recording_id
        assert run.duration_s > 0
        desk.run_file(number), desk.channel_settings(number), desk.note(number)
        desk.speed_source(number), desk.measuring(number), desk.remarks(number)
        desk.arrays(number), desk.tread_of_run(number)


def patched(file: Path, statement: str, *values: object) -> None:
    """Change rows of a study past its triggers and checks, as another program could."""
    lead = file.parent / "lead" / "lead.sqlite"
    with contextlib.closing(sqlite3.connect(file)) as raw, raw:
        files = ["main"]
        if lead.exists():
            raw.execute("ATTACH DATABASE ? AS lead", (str(lead),))
            files.append("lead")
        triggers = [
            (schema, name, sql.replace(f"TRIGGER {name}", f"TRIGGER {schema}.{name}", 1))
            for schema in files
            for name, sql in raw.execute(
                f"SELECT name, sql FROM {schema}.sqlite_master WHERE type = 'trigger'"
            )
        ]
        raw.execute("PRAGMA ignore_check_constraints = ON")
        for schema, name, _ in triggers:
            raw.execute(f"DROP TRIGGER {schema}.{name}")
        raw.execute(statement, values)
        for _, _, sql in triggers:
            raw.execute(sql)


def columns_of(file: Path) -> list[tuple[str, str]]:
    """List the tables and columns of a database file."""
    with contextlib.closing(sqlite3.connect(file)) as raw:
        tables = raw.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
        return [
            (table, row[1])
            for (table,) in tables
            for row in raw.execute(f"PRAGMA table_info({table})")
        ]


def one_of_its_files(folder: Path, rng: random.Random) -> Path:
    """Choose one of the two database files of a study."""
    return rng.choice((folder / "study.sqlite", folder / "lead" / "lead.sqlite"))


def damage(file: Path, rng: random.Random) -> str:
    """Damage a database file in one of many ways; return which."""
    kind = rng.choice(
        ("flip", "flips", "zero", "cut", "swap", "range", "cell", "cell", "cell", "column", "text")
    )
    if kind in ("cell", "column", "text"):
        return _damage_cells(file, kind, rng)
    content = bytearray(file.read_bytes())
    at = rng.randrange(len(content))
    page = 4096
    if kind == "flip":
        content[at] ^= 1 << rng.randrange(8)
    elif kind == "flips":
        for _ in range(20):
            content[rng.randrange(len(content))] ^= 1 << rng.randrange(8)
    elif kind == "zero":
        start = at // page * page
        content[start : start + page] = bytes(page)
    elif kind == "cut":
        del content[at:]
    elif kind == "swap":
        pages = len(content) // page
        one, other = rng.randrange(pages) * page, rng.randrange(pages) * page
        kept = content[one : one + page]
        content[one : one + page] = content[other : other + page]
        content[other : other + page] = kept
    else:
        length = rng.choice((1, 4, 64, 1000))
        content[at : at + length] = rng.randbytes(length)
    file.write_bytes(content)
    return f"{kind} at {at}"


def _damage_cells(file: Path, kind: str, rng: random.Random) -> str:
    table, column = rng.choice(columns_of(file))
    value = rng.choice(STRANGE)
    where = (
        "" if kind == "column" else f" WHERE rowid = (SELECT rowid FROM {table} ORDER BY random())"
    )
    if kind == "text":
        # Bytes that are no text, in a cell that says it holds one.
        statement = f"UPDATE {table} SET {column} = CAST(x'41ff42' AS TEXT){where}"
        values = ()
    else:
        statement, values = f"UPDATE {table} SET {column} = ?{where}", (value,)
    with contextlib.suppress(sqlite3.DatabaseError):
        patched(file, statement, *values)
    return f"{kind} {table}.{column} {value!r:.30}"


def scores_of(path: Path) -> list[tuple[object, ...]]:
    """Give all that stands in the score table of a study."""
    study = open_study(path)
    try:
        return list(LeadDesk(study).score_table().fillna("").itertuples(index=False, name=None))
    finally:
        study.close()


def _trusted(path: Path, scores: list[tuple[object, ...]]) -> str:
    """Tell whether what a damaged study reports is what was given, or that it is not."""
    with contextlib.closing(open_study(path)) as study:
        try:
            study.refuse_changed_rows()
        except RatingsError:
            return "told as changed"
    try:
        return "scores as given" if scores_of(path) == scores else "CHANGED UNNOTICED"
    except RatingsError:
        return "refused"


def main(count: int, first: int) -> None:
    """Damage a study `count` times and tell how each ended."""
    ends: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as scratch:
        whole = rated_study(Path(scratch) / "whole")
        scores = scores_of(whole)
        for seed in range(first, first + count):
            copy = Path(scratch) / "copy"
            shutil.copytree(whole, copy)
            rng = random.Random(seed)
            told = damage(one_of_its_files(copy, rng), rng)
            try:
                read_everything(copy)
                end = _trusted(copy, scores)
                ends[end] += 1
                if end.isupper():
                    sys.stdout.write(f"{seed} {told} {end}\n")
            except RatingsError:
                ends["refused"] += 1
            except Exception as problem:  # noqa: BLE001 - it is what is looked for
                ends["TRACEBACK"] += 1
                place = traceback.extract_tb(problem.__traceback__)
                at = [
                    f"{Path(f.filename).name}:{f.lineno}" for f in place if "ratings" in f.filename
                ]
                said = f"{seed} {told} {type(problem).__name__} {problem!s:.100} {at[-3:]}\n"
                sys.stdout.write(said)
            shutil.rmtree(copy)
    sys.stdout.write(f"{dict(ends)}\n")


if __name__ == "__main__":
    main(*(int(word) for word in (*sys.argv[1:], "200", "0")[:2]))
