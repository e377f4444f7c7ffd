"""Step 2: several runs of a set and condition, measurements, and what people were played."""

from datetime import UTC, datetime

import sqlalchemy as sa

# DOUBLE PRECISION, because REAL is a number of half its digits in PostgreSQL; SQLite keeps both
# alike. NULL stands for an undefined number; minus infinity is a number to both.
_TABLES = (
    "ALTER TABLE recording ADD COLUMN run INTEGER NOT NULL DEFAULT 1",
    "CREATE UNIQUE INDEX recording_by_run ON recording (set_id, condition_id, run)",
    """CREATE TABLE channel_setting (
        channel_setting_id INTEGER PRIMARY KEY,
        recording_id INTEGER NOT NULL REFERENCES recording,
        channel INTEGER NOT NULL CHECK (channel >= 1),
        role TEXT NOT NULL,
        pa_per_full_scale DOUBLE PRECISION CHECK (pa_per_full_scale > 0),
        calibration TEXT NOT NULL,
        set_at TEXT NOT NULL)""",
    """CREATE TABLE tread (
        tread_id INTEGER PRIMARY KEY,
        set_id INTEGER NOT NULL REFERENCES tyre_set,
        size TEXT NOT NULL,
        pitches INTEGER CHECK (pitches >= 1),
        set_at TEXT NOT NULL)""",
    """CREATE TABLE run_note (
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
    """CREATE TABLE speed_source (
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
    """CREATE TABLE band_table (
        version INTEGER PRIMARY KEY,
        made_at TEXT)""",
    """CREATE TABLE band (
        version INTEGER NOT NULL REFERENCES band_table,
        position INTEGER NOT NULL,
        key TEXT NOT NULL,
        name TEXT NOT NULL,
        low_hz DOUBLE PRECISION NOT NULL,
        high_hz DOUBLE PRECISION NOT NULL,
        PRIMARY KEY (version, position),
        UNIQUE (version, key))""",
    """CREATE TABLE measuring (
        measuring_id INTEGER PRIMARY KEY,
        recording_id INTEGER NOT NULL REFERENCES recording,
        band_version INTEGER NOT NULL REFERENCES band_table,
        program_version TEXT NOT NULL,
        settings TEXT NOT NULL,
        arrays_name TEXT,
        measured_at TEXT NOT NULL)""",
    """CREATE TABLE figure (
        measuring_id INTEGER NOT NULL REFERENCES measuring,
        position INTEGER NOT NULL,
        channel TEXT NOT NULL,
        key TEXT NOT NULL,
        unit TEXT NOT NULL,
        value DOUBLE PRECISION,
        PRIMARY KEY (measuring_id, position),
        UNIQUE (measuring_id, channel, key))""",
    """CREATE TABLE remark (
        remark_id INTEGER PRIMARY KEY,
        measuring_id INTEGER NOT NULL REFERENCES measuring,
        severity TEXT NOT NULL CHECK (severity IN ('void', 'doubtful', 'note')),
        channel INTEGER,
        sentence TEXT NOT NULL)""",
    """CREATE TABLE exposure (
        exposure_id INTEGER PRIMARY KEY,
        evaluator_id INTEGER NOT NULL REFERENCES evaluator,
        clip_id INTEGER REFERENCES clip,
        began_at TEXT NOT NULL,
        seconds DOUBLE PRECISION NOT NULL CHECK (seconds >= 0),
        level_db_a DOUBLE PRECISION)""",
    "CREATE INDEX channel_setting_by_recording ON channel_setting (recording_id, channel)",
    "CREATE INDEX measuring_by_recording ON measuring (recording_id)",
    "CREATE INDEX remark_by_measuring ON remark (measuring_id)",
    "CREATE INDEX exposure_by_evaluator ON exposure (evaluator_id, began_at)",
    # The bands that come with the program; nobody made them at a time.
    "INSERT INTO band_table (version, made_at) VALUES (1, NULL)",
    """INSERT INTO band (version, position, key, name, low_hz, high_hz) VALUES
        (1, 1, 'boom', 'Boom', 20, 100),
        (1, 2, 'structure_borne', 'Structure-borne', 100, 400),
        (1, 3, 'cavity', 'Cavity', 100, 300),
        (1, 4, 'airborne', 'Airborne', 400, 4000),
        (1, 5, 'pattern', 'Pattern', 400, 1200)""",
)

#: Originals, what was said of them, and what came out: a correction is a new row.
_APPEND_ONLY = (
    "recording",
    "channel_setting",
    "tread",
    "run_note",
    "speed_source",
    "band_table",
    "band",
    "measuring",
    "figure",
    "remark",
    "exposure",
)

_EARS = sa.text(
    """SELECT recording.recording_id, channels, recording.pa_per_full_scale,
        MIN(left_channel) AS left_channel, MIN(right_channel) AS right_channel
    FROM recording LEFT JOIN clip_source ON clip_source.recording_id = recording.recording_id
    GROUP BY recording.recording_id, channels, recording.pa_per_full_scale
    ORDER BY recording.recording_id"""
)
_SETTING = sa.text(
    """INSERT INTO channel_setting
        (recording_id, channel, role, pa_per_full_scale, calibration, set_at)
    VALUES (:recording_id, :channel, :role, :pa_per_full_scale, :calibration, :set_at)"""
)


def apply(connection: sa.Connection) -> None:
    """Add runs and measurements, and tell the channels of the recordings that are there."""
    for statement in _TABLES:
        connection.execute(sa.text(statement))
    _tell_channels(connection)
    for table in _APPEND_ONLY:
        for act in ("UPDATE", "DELETE"):
            connection.execute(
                sa.text(
                    f"CREATE TRIGGER {table}_refuses_{act.lower()} BEFORE {act} ON {table} "
                    f"BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
                )
            )


def _tell_channels(connection: sa.Connection) -> None:
    """Make the two channels that a clip was cut from the driver's ears."""
    now = datetime.now(UTC).isoformat()
    for row in connection.execute(_EARS).all():
        is_calibrated = row.pa_per_full_scale is not None
        for channel in range(1, row.channels + 1):
            # Clips count channels from 0. One channel for both ears is told as the left one.
            role = {
                row.right_channel: "driver right ear",
                row.left_channel: "driver left ear",
            }.get(channel - 1, "not used")
            connection.execute(
                _SETTING,
                {
                    "recording_id": row.recording_id,
                    "channel": channel,
                    "role": role,
                    "pa_per_full_scale": row.pa_per_full_scale,
                    "calibration": "given when the study was made"
                    if is_calibrated
                    else "not calibrated",
                    "set_at": now,
                },
            )
