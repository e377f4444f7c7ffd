"""Step 3: what identifies goes into the lead's own file; sessions wait for whoever takes a seat."""

import secrets
from collections.abc import Sequence

import sqlalchemy as sa

# Tables of another file cannot be referred to: what stands here names clips, pairs, conditions,
# attributes, evaluators and versions of bands by their numbers alone.
_LEAD_TABLES = (
    """CREATE TABLE lead.design (
        seed TEXT NOT NULL,
        link TEXT NOT NULL)""",
    """CREATE TABLE lead.tyre_set (
        set_id INTEGER PRIMARY KEY,
        position INTEGER NOT NULL,
        name TEXT NOT NULL UNIQUE,
        size TEXT NOT NULL,
        note TEXT NOT NULL,
        is_control INTEGER NOT NULL,
        code TEXT NOT NULL UNIQUE)""",
    """CREATE TABLE lead.recording (
        recording_id INTEGER PRIMARY KEY,
        set_id INTEGER NOT NULL REFERENCES tyre_set,
        condition_id INTEGER NOT NULL,
        stored_name TEXT NOT NULL,
        original_name TEXT NOT NULL,
        content_hash TEXT NOT NULL,
        sample_rate_hz INTEGER NOT NULL,
        channels INTEGER NOT NULL,
        frames INTEGER NOT NULL,
        pa_per_full_scale DOUBLE PRECISION,
        imported_at TEXT NOT NULL,
        run INTEGER NOT NULL DEFAULT 1)""",
    """CREATE TABLE lead.clip_source (
        clip_id INTEGER PRIMARY KEY,
        recording_id INTEGER NOT NULL REFERENCES recording,
        left_channel INTEGER NOT NULL,
        right_channel INTEGER NOT NULL,
        start_s DOUBLE PRECISION NOT NULL,
        stop_s DOUBLE PRECISION NOT NULL,
        gain_db DOUBLE PRECISION NOT NULL,
        equaliser TEXT,
        remarks TEXT NOT NULL,
        peak_full_scale DOUBLE PRECISION NOT NULL,
        leq_a_db_re_full_scale DOUBLE PRECISION NOT NULL,
        fast_max_a_db_re_full_scale DOUBLE PRECISION NOT NULL,
        mask_step DOUBLE PRECISION,
        mask_seed TEXT)""",
    """CREATE TABLE lead.comparison (
        comparison_id INTEGER PRIMARY KEY,
        condition_id INTEGER NOT NULL,
        set_id INTEGER NOT NULL REFERENCES tyre_set,
        role TEXT NOT NULL CHECK (role IN ('candidate', 'null', 'repeat')),
        clip_id INTEGER NOT NULL REFERENCES clip_source,
        control_clip_id INTEGER NOT NULL REFERENCES clip_source,
        UNIQUE (condition_id, set_id, role))""",
    """CREATE TABLE lead.pair_role (
        pair_id INTEGER PRIMARY KEY,
        role TEXT NOT NULL CHECK (role IN ('candidate', 'null', 'repeat')))""",
    """CREATE TABLE lead.brought_score (
        brought_score_id INTEGER PRIMARY KEY,
        evaluator_id INTEGER NOT NULL,
        set_id INTEGER NOT NULL REFERENCES tyre_set,
        condition_id INTEGER NOT NULL,
        attribute_id INTEGER NOT NULL,
        repeat INTEGER NOT NULL,
        value DOUBLE PRECISION NOT NULL,
        origin TEXT NOT NULL CHECK (origin IN ('listened', 'driven')),
        given_at TEXT,
        file_name TEXT NOT NULL,
        file_hash TEXT NOT NULL,
        brought_at TEXT NOT NULL)""",
    """CREATE TABLE lead.channel_setting (
        channel_setting_id INTEGER PRIMARY KEY,
        recording_id INTEGER NOT NULL REFERENCES recording,
        channel INTEGER NOT NULL CHECK (channel >= 1),
        role TEXT NOT NULL,
        pa_per_full_scale DOUBLE PRECISION CHECK (pa_per_full_scale > 0),
        calibration TEXT NOT NULL,
        set_at TEXT NOT NULL)""",
    """CREATE TABLE lead.tread (
        tread_id INTEGER PRIMARY KEY,
        set_id INTEGER NOT NULL REFERENCES tyre_set,
        size TEXT NOT NULL,
        pitches INTEGER CHECK (pitches >= 1),
        set_at TEXT NOT NULL)""",
    """CREATE TABLE lead.run_note (
        run_note_id INTEGER PRIMARY KEY,
        recording_id INTEGER NOT NULL REFERENCES recording,
        air_c DOUBLE PRECISION,
        surface_c DOUBLE PRECISION,
        tyre_air_c DOUBLE PRECISION,
        wind_m_s DOUBLE PRECISION,
        pressure_front_kpa DOUBLE PRECISION,
        pressure_rear_kpa DOUBLE PRECISION,
        load_front_kg DOUBLE PRECISION,
        load_rear_kg DOUBLE PRECISION,
        remark TEXT NOT NULL,
        noted_at TEXT NOT NULL)""",
    """CREATE TABLE lead.speed_source (
        speed_source_id INTEGER PRIMARY KEY,
        recording_id INTEGER NOT NULL REFERENCES recording,
        kind TEXT NOT NULL CHECK (kind IN ('file', 'channel', 'pulses', 'constant', 'none')),
        stored_name TEXT,
        original_name TEXT,
        content_hash TEXT,
        channel INTEGER,
        km_h_per_unit DOUBLE PRECISION,
        km_h_at_zero DOUBLE PRECISION,
        pulses_per_metre DOUBLE PRECISION,
        speed_km_h DOUBLE PRECISION,
        offset_s DOUBLE PRECISION NOT NULL,
        set_at TEXT NOT NULL)""",
    """CREATE TABLE lead.measuring (
        measuring_id INTEGER PRIMARY KEY,
        recording_id INTEGER NOT NULL REFERENCES recording,
        band_version INTEGER NOT NULL,
        program_version TEXT NOT NULL,
        settings TEXT NOT NULL,
        arrays_name TEXT,
        measured_at TEXT NOT NULL)""",
    """CREATE TABLE lead.figure (
        measuring_id INTEGER NOT NULL REFERENCES measuring,
        position INTEGER NOT NULL,
        channel TEXT NOT NULL,
        key TEXT NOT NULL,
        unit TEXT NOT NULL,
        value DOUBLE PRECISION,
        PRIMARY KEY (measuring_id, position),
        UNIQUE (measuring_id, channel, key))""",
    """CREATE TABLE lead.remark (
        remark_id INTEGER PRIMARY KEY,
        measuring_id INTEGER NOT NULL REFERENCES measuring,
        severity TEXT NOT NULL CHECK (severity IN ('void', 'doubtful', 'note')),
        channel INTEGER,
        sentence TEXT NOT NULL)""",
    "CREATE UNIQUE INDEX lead.recording_by_run ON recording (set_id, condition_id, run)",
    "CREATE INDEX lead.channel_setting_by_recording ON channel_setting (recording_id, channel)",
    "CREATE INDEX lead.measuring_by_recording ON measuring (recording_id)",
    "CREATE INDEX lead.remark_by_measuring ON remark (measuring_id)",
)

#: What moves as it is, those that others refer to first; clip_source takes the clips' levels along.
_MOVED = (
    "tyre_set",
    "recording",
    "pair_role",
    "brought_score",
    "channel_setting",
    "tread",
    "run_note",
    "speed_source",
    "measuring",
    "figure",
    "remark",
)
_LEVELS = ("peak_full_scale", "leq_a_db_re_full_scale", "fast_max_a_db_re_full_scale")

#: Given is given, and originals and what was said of them: a correction is a new row.
_APPEND_ONLY = (
    "design",
    "recording",
    "clip_source",
    "comparison",
    "pair_role",
    "brought_score",
    "channel_setting",
    "tread",
    "run_note",
    "speed_source",
    "measuring",
    "figure",
    "remark",
)

_SOURCES = f"""INSERT INTO lead.clip_source
    (clip_id, recording_id, left_channel, right_channel, start_s, stop_s, gain_db, equaliser,
    remarks, {", ".join(_LEVELS)})
    SELECT source.clip_id, recording_id, left_channel, right_channel, start_s, stop_s, gain_db,
    equaliser, remarks, {", ".join(_LEVELS)}
    FROM main.clip_source AS source JOIN main.clip USING (clip_id)"""

#: Of a study from before, every pair of a condition plays the control's one clip.
_COMPARISONS = """INSERT INTO lead.comparison
    (condition_id, set_id, role, clip_id, control_clip_id)
    SELECT own.condition_id, own.set_id, role.word, own_clip.clip_id, control_clip.clip_id
    FROM (SELECT 'candidate' AS word UNION SELECT 'null' UNION SELECT 'repeat') AS role
    JOIN lead.recording AS own
    JOIN lead.clip_source AS own_clip ON own_clip.recording_id = own.recording_id
    JOIN lead.tyre_set AS own_set ON own_set.set_id = own.set_id
    JOIN lead.tyre_set AS control_set ON control_set.is_control = 1
    JOIN lead.recording AS control
        ON control.set_id = control_set.set_id AND control.condition_id = own.condition_id
    JOIN lead.clip_source AS control_clip ON control_clip.recording_id = control.recording_id
    WHERE own_set.is_control = (role.word = 'null')
    ORDER BY own.condition_id, own.set_id, role.word"""

_SEATS = (
    """CREATE TABLE main.seat (
        session_id INTEGER PRIMARY KEY REFERENCES session,
        evaluator_id INTEGER NOT NULL UNIQUE REFERENCES evaluator,
        taken_at TEXT NOT NULL)""",
    """INSERT INTO main.seat (session_id, evaluator_id, taken_at)
        SELECT session_id, evaluator_id, created_at FROM main.session""",
    """CREATE TRIGGER main.seat_refuses_update BEFORE UPDATE ON seat
        BEGIN SELECT RAISE(ABORT, 'seat is append-only'); END""",
    """CREATE TRIGGER main.seat_refuses_delete BEFORE DELETE ON seat
        WHEN EXISTS (SELECT 1 FROM pair JOIN pair_event USING (pair_id)
            WHERE pair.session_id = OLD.session_id)
        BEGIN SELECT RAISE(ABORT, 'the session of this seat has begun'); END""",
    "ALTER TABLE main.session DROP COLUMN evaluator_id",
    "ALTER TABLE main.session DROP COLUMN seed",
)


def apply(connection: sa.Connection) -> None:
    """Move what identifies into the lead's file, which is attached as ``lead``."""
    for statement in _LEAD_TABLES:
        connection.execute(sa.text(statement))
    seeds = connection.execute(sa.text("SELECT seed FROM main.study")).scalars().all()
    for table in _MOVED:
        columns = ", ".join(_columns(connection, table))
        connection.execute(
            sa.text(f"INSERT INTO lead.{table} ({columns}) SELECT {columns} FROM main.{table}")
        )
    connection.execute(sa.text(_SOURCES))
    connection.execute(sa.text(_COMPARISONS))
    # Those that refer to others go first.
    for table in (*reversed(_MOVED[2:]), "clip_source", "recording", "tyre_set"):
        connection.execute(sa.text(f"DROP TABLE main.{table}"))
    for column in _LEVELS:
        connection.execute(sa.text(f"ALTER TABLE main.clip DROP COLUMN {column}"))
    for statement in _SEATS:
        connection.execute(sa.text(statement))
    _link(connection, seeds)
    for table in _APPEND_ONLY:
        for act in ("UPDATE", "DELETE"):
            connection.execute(
                sa.text(
                    f"CREATE TRIGGER lead.{table}_refuses_{act.lower()} BEFORE {act} ON {table} "
                    f"BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
                )
            )


def _link(connection: sa.Connection, seeds: Sequence[object]) -> None:
    """Take the seed away from the cover, and tie both files together."""
    connection.execute(sa.text("ALTER TABLE main.study DROP COLUMN seed"))
    connection.execute(sa.text("ALTER TABLE main.study ADD COLUMN link TEXT NOT NULL DEFAULT ''"))
    for seed in seeds:
        both = {"link": secrets.token_hex(16), "seed": str(seed)}
        connection.execute(sa.text("UPDATE main.study SET link = :link"), both)
        connection.execute(
            sa.text("INSERT INTO lead.design (seed, link) VALUES (:seed, :link)"), both
        )


def _columns(connection: sa.Connection, table: str) -> list[str]:
    rows = connection.execute(sa.text(f"PRAGMA main.table_info({table})"))
    return [row.name for row in rows]
