"""Speed traces from the logs of satellite receivers, NMEA 0183 sentences RMC and VTG."""

import re
from dataclasses import dataclass, field
from functools import reduce
from operator import xor
from pathlib import Path

import numpy as np

from ratings.errors import RecordingError
from ratings.recordings.opening import shown_name
from ratings.recordings.speed.record import SpeedRecord, checked_trace

KM_H_PER_KNOT = 1.852
"""An international nautical mile is 1852 m by definition (The International System of Units,
8th edition, 2006, table 8)."""

_SENTENCE = re.compile(r"[$!](?P<body>[^$!*]*)\*(?P<checksum>[0-9A-Fa-f]{2})\s*$")
_TIME = re.compile(r"(\d\d)(\d\d)(\d\d(?:\.\d*)?)")
_DAY_S = 86_400.0
_RMC_FIELDS, _VTG_FIELDS = 8, 9
_CHOOSE_ANOTHER = "Choose a log with RMC, or with GGA and VTG sentences, copied in full."


@dataclass(slots=True)
class _Log:
    """What the sentences read so far have told."""

    rmc: list[tuple[float, float]] = field(default_factory=list)
    vtg: list[tuple[float, float]] = field(default_factory=list)
    lines: int = 0
    damaged: int = 0
    void: int = 0
    day: int = 0
    time_of_day_s: float | None = None
    talker: str = ""

    def take(self, line: str) -> None:
        """Read one line of the log."""
        self.lines += 1
        body = _checked_body(line)
        if body is None:
            self.damaged += 1
            return
        fields = body.split(",")
        kind = fields[0][-3:]
        if kind == "RMC" and len(fields) >= _RMC_FIELDS:
            self._take_rmc(fields)
        elif kind in ("GGA", "ZDA") and len(fields) > 1:
            self._set_time(fields[1])
        elif kind == "VTG" and len(fields) >= _VTG_FIELDS:
            self._take_vtg(fields)

    def _take_rmc(self, fields: list[str]) -> None:
        # A receiver of several satellite systems may tell each instant once for every system.
        self.talker = self.talker or fields[0]
        if fields[0] != self.talker:
            return
        time_s = self._set_time(fields[1])
        speed_knots = _number(fields[7])
        if fields[2] != "A" or time_s is None or speed_knots is None:
            self.void += 1
            return
        self.rmc.append((time_s, speed_knots * KM_H_PER_KNOT))

    def _take_vtg(self, fields: list[str]) -> None:
        if self.time_of_day_s is None:
            return
        speed_km_h, speed_knots = _number(fields[7]), _number(fields[5])
        if speed_km_h is None and speed_knots is not None:
            speed_km_h = speed_knots * KM_H_PER_KNOT
        if speed_km_h is None:
            self.void += 1
            return
        time_s = self.day * _DAY_S + self.time_of_day_s
        if not self.vtg or self.vtg[-1][0] != time_s:
            self.vtg.append((time_s, speed_km_h))

    def _set_time(self, written: str) -> float | None:
        found = _TIME.fullmatch(written)
        if found is None:
            return None
        time_s = int(found[1]) * 3600 + int(found[2]) * 60 + float(found[3])
        if self.time_of_day_s is not None and time_s < self.time_of_day_s - _DAY_S / 2:
            self.day += 1
        self.time_of_day_s = time_s
        return self.day * _DAY_S + time_s


def read_nmea(path: Path, text: str) -> SpeedRecord:
    """Read the speeds of a receiver's log; time 0 is its first valid one.

    RMC gives time and speed. Where no RMC does, VTG gives the speed at the time of the last GGA or
    ZDA before it. Midnight is passed where the time of day falls by more than half a day.

    Raises
    ------
    RecordingError
        When no sentence gives a speed, or more than half of the lines are damaged.

    References
    ----------
    Sentence layout and checksum, the exclusive or of all characters between $ and *, as in
    receivers' interface manuals (from memory; NMEA 0183 itself was not at hand).
    """
    log = _Log()
    for line in text.lstrip("\ufeff").splitlines():
        if line.strip():
            log.take(line.strip())
    points = log.rmc or log.vtg
    if log.damaged * 2 > log.lines:
        raise RecordingError(
            f"{shown_name(path)} is damaged: {log.damaged} of {log.lines} lines have no right "
            "checksum.",
            _CHOOSE_ANOTHER,
        )
    if not points:
        raise RecordingError(
            f"{shown_name(path)} holds no valid speed: among {log.lines} lines no RMC or VTG "
            "sentence gives one.",
            _CHOOSE_ANOTHER,
        )
    times_s, speed_km_h = np.array(points).T
    trace = checked_trace(path, times_s - times_s[0], speed_km_h)
    return SpeedRecord(trace, _remarks(log))


def _remarks(log: _Log) -> tuple[str, ...]:
    remarks = []
    if log.damaged:
        remarks.append(f"{log.damaged} of {log.lines} lines left out: damaged or wrong checksum")
    if log.void:
        remarks.append(f"sentences without a valid speed left out: {log.void}")
    if not log.rmc:
        remarks.append("speed from VTG sentences, at the time of the position before each")
    return tuple(remarks)


def _checked_body(line: str) -> str | None:
    # Loggers may put a time of their own in front; the sentence starts at its mark.
    found = _SENTENCE.search(line)
    if found is None or not found["body"].isascii():
        return None
    checksum = reduce(xor, found["body"].encode("ascii"), 0)
    return found["body"] if checksum == int(found["checksum"], 16) else None


def _number(written: str) -> float | None:
    try:
        number = float(written)
    except ValueError:
        return None
    return number if np.isfinite(number) else None
