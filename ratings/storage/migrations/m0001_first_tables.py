"""Step 1: a study with its sets, clips, sessions and scores."""

import sqlalchemy as sa

# Written out and never changed again: a later change of the tables is a later step.
# What an evaluator's side may read stands first; what ties it to a set stands last.
_TABLES = (
    """CREATE TABLE study (
        name TEXT NOT NULL,
        vehicle TEXT NOT NULL,
        note TEXT NOT NULL,
        is_invented INTEGER NOT NULL,
        scale_low REAL NOT NULL,
        scale_high REAL NOT NULL,
        scale_step REAL NOT NULL,
        anchors_version INTEGER NOT NULL,
        seed INTEGER NOT NULL,
        created_at TEXT NOT NULL)""",
    """CREATE TABLE attribute (
        attribute_id INTEGER PRIMARY KEY,
        position INTEGER NOT NULL,
        key TEXT NOT NULL UNIQUE,
        name TEXT NOT NULL,
        definition TEXT NOT NULL,
        low_hz REAL,
        high_hz REAL,
        manoeuvre TEXT)""",
    """CREATE TABLE condition (
        condition_id INTEGER PRIMARY KEY,
        position INTEGER NOT NULL,
        surface TEXT NOT NULL,
        manoeuvre TEXT NOT NULL CHECK (manoeuvre IN ('steady', 'coast-down')),
        speed_km_h REAL,
        end_speed_km_h REAL)""",
    """CREATE TABLE evaluator (
        evaluator_id INTEGER PRIMARY KEY,
        code TEXT NOT NULL UNIQUE,
        name TEXT NOT NULL)""",
    """CREATE TABLE clip (
        clip_id INTEGER PRIMARY KEY,
        condition_id INTEGER NOT NULL REFERENCES condition,
        code TEXT NOT NULL UNIQUE,
        content_hash TEXT NOT NULL,
        sample_rate_hz INTEGER NOT NULL,
        frames INTEGER NOT NULL,
        pa_per_full_scale REAL,
        peak_full_scale REAL NOT NULL,
        leq_a_db_re_full_scale REAL NOT NULL,
        fast_max_a_db_re_full_scale REAL NOT NULL)""",
    """CREATE TABLE session (
        session_id INTEGER PRIMARY KEY,
        evaluator_id INTEGER NOT NULL REFERENCES evaluator,
        ordinal INTEGER NOT NULL UNIQUE,
        seed INTEGER NOT NULL,
        design_version INTEGER NOT NULL,
        created_at TEXT NOT NULL)""",
    """CREATE TABLE pair (
        pair_id INTEGER PRIMARY KEY,
        session_id INTEGER NOT NULL REFERENCES session,
        position INTEGER NOT NULL,
        condition_id INTEGER NOT NULL REFERENCES condition,
        clip_a INTEGER NOT NULL REFERENCES clip,
        clip_b INTEGER NOT NULL REFERENCES clip,
        UNIQUE (session_id, position))""",
    """CREATE TABLE pair_event (
        pair_event_id INTEGER PRIMARY KEY,
        pair_id INTEGER NOT NULL REFERENCES pair,
        kind TEXT NOT NULL CHECK (kind IN ('opened', 'heard A', 'heard B', 'locked', 'rested')),
        happened_at TEXT NOT NULL)""",
    """CREATE TABLE score (
        score_id INTEGER PRIMARY KEY,
        pair_id INTEGER NOT NULL REFERENCES pair,
        side TEXT NOT NULL CHECK (side IN ('A', 'B')),
        attribute_id INTEGER NOT NULL REFERENCES attribute,
        value REAL,
        said_equal INTEGER NOT NULL,
        given_at TEXT NOT NULL)""",
    """CREATE TABLE note (
        note_id INTEGER PRIMARY KEY,
        pair_id INTEGER NOT NULL REFERENCES pair,
        side TEXT NOT NULL CHECK (side IN ('A', 'B')),
        text TEXT NOT NULL,
        given_at TEXT NOT NULL)""",
    """CREATE TABLE tyre_set (
        set_id INTEGER PRIMARY KEY,
        position INTEGER NOT NULL,
        name TEXT NOT NULL UNIQUE,
        size TEXT NOT NULL,
        note TEXT NOT NULL,
        is_control INTEGER NOT NULL,
        code TEXT NOT NULL UNIQUE)""",
    """CREATE TABLE recording (
        recording_id INTEGER PRIMARY KEY,
        set_id INTEGER NOT NULL REFERENCES tyre_set,
        condition_id INTEGER NOT NULL REFERENCES condition,
        stored_name TEXT NOT NULL,
        original_name TEXT NOT NULL,
        content_hash TEXT NOT NULL,
        sample_rate_hz INTEGER NOT NULL,
        channels INTEGER NOT NULL,
        frames INTEGER NOT NULL,
        pa_per_full_scale REAL,
        imported_at TEXT NOT NULL)""",
    """CREATE TABLE clip_source (
        clip_id INTEGER PRIMARY KEY REFERENCES clip,
        recording_id INTEGER NOT NULL REFERENCES recording,
        left_channel INTEGER NOT NULL,
        right_channel INTEGER NOT NULL,
        start_s REAL NOT NULL,
        stop_s REAL NOT NULL,
        gain_db REAL NOT NULL,
        equaliser TEXT,
        remarks TEXT NOT NULL)""",
    """CREATE TABLE pair_role (
        pair_id INTEGER PRIMARY KEY REFERENCES pair,
        role TEXT NOT NULL CHECK (role IN ('candidate', 'null', 'repeat')))""",
    """CREATE TABLE brought_score (
        brought_score_id INTEGER PRIMARY KEY,
        evaluator_id INTEGER NOT NULL REFERENCES evaluator,
        set_id INTEGER NOT NULL REFERENCES tyre_set,
        condition_id INTEGER NOT NULL REFERENCES condition,
        attribute_id INTEGER NOT NULL REFERENCES attribute,
        repeat INTEGER NOT NULL,
        value REAL NOT NULL,
        origin TEXT NOT NULL CHECK (origin IN ('listened', 'driven')),
        given_at TEXT,
        file_name TEXT NOT NULL,
        file_hash TEXT NOT NULL,
        brought_at TEXT NOT NULL)""",
    "CREATE INDEX score_by_pair ON score (pair_id, attribute_id, side)",
    "CREATE INDEX pair_event_by_pair ON pair_event (pair_id)",
)

#: Given is given: a correction is a new row, and what is in these tables stays as it was.
_APPEND_ONLY = ("score", "note", "pair_event", "brought_score", "pair", "pair_role", "session")


def apply(connection: sa.Connection) -> None:
    """Create the tables and the triggers that keep given answers as they were given."""
    for statement in _TABLES:
        connection.execute(sa.text(statement))
    for table in _APPEND_ONLY:
        for act in ("UPDATE", "DELETE"):
            connection.execute(
                sa.text(
                    f"CREATE TRIGGER {table}_refuses_{act.lower()} BEFORE {act} ON {table} "
                    f"BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
                )
            )
