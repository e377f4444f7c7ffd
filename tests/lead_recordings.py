"""Studies with several runs of each set, measured by construction, for tests of the lead's page."""

import atexit
import functools
import shutil
import tempfile
import zlib
from pathlib import Path

import numpy as np
from studies import RATE_HZ, small_study, write_noise

from ratings.acoustics.third_octaves import THIRD_OCTAVES
from ratings.storage.recording_desk import RecordingDesk
from ratings.storage.study_folder import open_study
from ratings.study.bands import DEFAULT_BANDS
from ratings.study.figures import EARS, Figure
from ratings.study.runs import ChannelSetting, ConstantSpeed, NewRun

EARS_OF_DRIVER = ("driver left ear", "driver right ear")
#: How much each set's cavity line lies over the control's; Maple is the control.
LINE_DB = {"Maple": 0.0, "Birch": -4.0, "Larch": 0.2}
CHANNELS = ("1", "2", EARS)

_workshop = tempfile.TemporaryDirectory(prefix="twinset-runs-")
atexit.register(_workshop.cleanup)


def study_with_runs(folder, is_measured=False, **wanted):
    """Open a study with several runs of each set; equal wishes are made once and copied.

    See `_filled` for what can be wished for.
    """
    made = _made(is_measured, tuple(sorted(wanted.items())))
    shutil.copytree(made, folder / "study")
    return open_study(folder / "study")


@functools.cache
def _made(is_measured, wanted):
    folder = Path(_workshop.name) / str(len(list(Path(_workshop.name).iterdir())))
    study = _filled(folder, **dict(wanted))
    if is_measured:
        measure_all(RecordingDesk(study))
    study.close()
    return folder / "study"


def _filled(folder, runs=3, sets=3, conditions=2, pa_per_full_scale=20.0):
    """Make a study of a steady condition and a coast-down, and `runs` runs of each set."""
    study = small_study(folder, sets=sets, conditions=conditions)
    desk = RecordingDesk(study)
    for condition in desk.conditions():
        for each in desk.sets():
            for run in range(1, runs):
                path = folder / f"{each.set_id}_{condition.condition_id}_{run}.wav"
                bring(desk, path, each.set_id, condition, pa_per_full_scale)
    for recording_id in [run.recording_id for run in desk.runs()]:
        calibrate(desk, recording_id, pa_per_full_scale)
    return study


def bring(desk, path, set_id, condition, pa_per_full_scale=20.0):
    write_noise(path, seed=zlib.crc32(path.name.encode()))
    setting = [ChannelSetting(role, pa_per_full_scale, "given") for role in EARS_OF_DRIVER]
    speed = ConstantSpeed(80.0) if condition.manoeuvre == "steady" else None
    return desk.bring_run(NewRun(path, set_id, condition.condition_id, tuple(setting), speed=speed))


def calibrate(desk, recording_id, pa_per_full_scale=20.0):
    desk.set_channels(
        recording_id,
        tuple(ChannelSetting(role, pa_per_full_scale, "given") for role in EARS_OF_DRIVER),
    )


def set_names(desk):
    """Name of each set by its code, which only the tests may know."""
    import sqlalchemy as sa

    with desk.study.reading() as connection:
        rows = connection.execute(sa.text("SELECT code, name FROM tyre_set"))
        return {row.code: row.name for row in rows}


def measure_all(desk, remarks=(), only=None):
    """Keep made-up measurements of every run that has none; `remarks` by recording."""
    names = set_names(desk)
    for run in desk.runs():
        if run.measured_at is None and (only is None or run.recording_id in only):
            keep(desk, run, LINE_DB[names[run.set_code]], dict(remarks).get(run.recording_id, ()))


def keep(desk, run, line_db=0.0, remarks=()):
    """Keep a made-up measurement of one run: a cavity line over road noise."""
    # Ids differ from study to study, what was driven does not.
    rng = np.random.default_rng(
        zlib.crc32(f"{run.set_code}, {run.condition.title}, {run.run}".encode())
    )
    scatter_db = 0.15 * rng.standard_normal()
    desk.keep_measurement(
        run.recording_id,
        figures(run, line_db, scatter_db),
        remarks,
        {"field": "diffuse"},
        arrays(run, line_db, scatter_db, rng),
        DEFAULT_BANDS.version,
    )


def figures(run, line_db, scatter_db):
    unit = "dB" if run.is_level_true else "dB re full scale"
    made = []
    for place, channel in enumerate(CHANNELS):
        base = 60.0 + 0.3 * place + scatter_db
        levels = {
            "leq_a": base + 5 + 0.1 * line_db,
            "band_boom": base + 8,
            "band_structure_borne": base + 10 + 0.4 * line_db,
            "band_cavity": base + 8 + 0.6 * line_db,
            "band_airborne": base - 4,
            "band_pattern": base - 6,
            "cavity_line_level": base + line_db,
        }
        made += [
            Figure(channel, key, "dB(A)" if key == "leq_a" and unit == "dB" else unit, level)
            for key, level in levels.items()
        ]
        made += [
            Figure(channel, f"third_octave_{band.name}", unit, third_db(band, line_db) + scatter_db)
            for band in THIRD_OCTAVES
        ]
        if run.is_level_true:
            made.append(Figure(channel, "loudness_n", "sone", 14.0 + 0.1 * line_db + 0.1 * place))
    return made


def third_db(band, line_db):
    level = 62 - 12 * np.log10(band.centre_hz / 100)
    return level + (6 + line_db if band.name == "200" else 0)


def arrays(run, line_db, scatter_db, rng):
    hz = np.arange(1.0, 4001.0)
    road = 45 - 22 * np.log10(hz / 100) + scatter_db
    line = (12 + line_db) * np.exp(-(((hz - 212) / 4) ** 2))
    db = np.stack([road + line + 1.5 * rng.standard_normal(hz.size) for _ in CHANNELS])
    made = {
        "channels": np.array(CHANNELS),
        "spectrum_hz": hz.astype(np.float32),
        "spectrum_db": db.astype(np.float32),
        "cavity_predicted_hz": np.array([205.0, 227.0]),
    }
    if run.condition.manoeuvre == "steady":
        seconds = np.arange(0.25, 2.5, 0.5)
        rows = np.tile(road + line, (seconds.size, 1))
        made |= {
            "map_hz": hz.astype(np.float32),
            "map_s": seconds.astype(np.float32),
            "map_db": np.stack([rows for _ in CHANNELS]).astype(np.float32),
        }
    else:
        speeds = np.arange(40.0, 80.5, 0.5)
        bins = np.arange(42.5, 80.0, 5.0)
        rows = road + line + 30 * np.log10(speeds / 80)[:, None]
        tread = 8 * np.exp(-(((hz[None, :] - 738 * speeds[:, None] / 80) / 12) ** 2))
        levels = np.stack([rows + tread + rng.standard_normal(rows.shape) for _ in CHANNELS])
        bands = np.array([band.key for band in DEFAULT_BANDS.bands])
        slope = 65 + 30 * np.log10(bins / 80) + scatter_db
        against = np.stack([[slope - 2 * n for n in range(bands.size)] for _ in CHANNELS])
        made |= {
            "map_hz": hz.astype(np.float32),
            "map_speed_km_h": speeds.astype(np.float32),
            "map_db": levels.astype(np.float32),
            "bins_km_h": bins.astype(np.float32),
            "band_keys": bands,
            "band_against_speed_db": against.astype(np.float32),
            "leq_a_against_speed_db": np.stack([slope - 3 for _ in CHANNELS]).astype(np.float32),
        }
    return made


__all__ = ["RATE_HZ", "bring", "calibrate", "keep", "measure_all", "set_names", "study_with_runs"]
