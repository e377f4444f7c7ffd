"""Speed traces from files: tables, satellite tracks and receivers' logs."""

from pathlib import Path

from ratings.recordings.speed.csv_table import read_csv
from ratings.recordings.speed.gpx import read_gpx
from ratings.recordings.speed.nmea import read_nmea
from ratings.recordings.speed.record import SpeedRecord, as_text, read_bytes
from ratings.study.speed_trace import SpeedTrace


def read_speed_trace(path: Path, offset_s: float = 0.0) -> SpeedTrace:
    """Read a speed trace; see `read_speed_record`, which also tells what was odd about it."""
    return read_speed_record(path, offset_s).trace


def read_speed_record(path: Path, offset_s: float = 0.0) -> SpeedRecord:
    """Read a CSV, a GPX track or an NMEA 0183 log; its content, not its name, says which.

    Parameters
    ----------
    offset_s
        Added to the times. Times of a CSV count from the start of the recording; a track or a
        log starts at 0 s with its first point, because nothing in it tells when the recording
        began.

    Raises
    ------
    RecordingError
        In one sentence, when there is no sound speed trace in the file.
    """
    content = read_bytes(path)
    text = as_text(path, content)
    # A mark of the encoding is not part of what the file says.
    start = text.lstrip("\ufeff \t\r\n")
    if start.startswith("<"):
        return read_gpx(path, content).shifted(offset_s)
    if start.startswith(("$", "!", "\\")):
        return read_nmea(path, text).shifted(offset_s)
    return read_csv(path, text).shifted(offset_s)
