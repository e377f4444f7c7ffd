"""Speed traces from GPX tracks: the receiver's own speed, or distance over time."""

import math
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from xml.parsers import expat

import numpy as np
import numpy.typing as npt

from ratings.errors import RecordingError
from ratings.recordings.opening import shown_name
from ratings.recordings.speed.record import SpeedRecord, checked_trace
from ratings.study.constants import KM_H_PER_M_S

#: WGS 84 ellipsoid, the datum of GPX 1.1 (NIMA TR8350.2, table 3.1; values from memory).
_SEMI_MAJOR_AXIS_M = 6_378_137.0
_FLATTENING = 1 / 298.257223563

_SPEED_NOTE = (
    "speed worked out from positions: way from the point before to the point behind, "
    "over the time between them"
)
_LONGEST_TEXT = 1_000
_EXPORT_AGAIN = "Export the track again with times, as GPX 1.1."

Series = npt.NDArray[np.float64]


@dataclass(slots=True)
class _TrackPoint:
    latitude_deg: float
    longitude_deg: float
    time: str = ""
    speed_m_s: str = ""


@dataclass(slots=True)
class _Track:
    """Collects the track points as the parser meets them."""

    path: Path
    points: list[_TrackPoint] = field(default_factory=list)
    is_inside_point: bool = False
    text: str = ""

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        self.text = ""
        if _local(tag) != "trkpt":
            return
        try:
            latitude, longitude = float(attributes["lat"]), float(attributes["lon"])
        except (KeyError, ValueError):
            latitude = longitude = math.nan
        if not (abs(latitude) <= 90 and abs(longitude) <= 180):
            raise RecordingError(
                f"{shown_name(self.path)}: track point {len(self.points) + 1} has no position.",
                _EXPORT_AGAIN,
            )
        self.points.append(_TrackPoint(latitude, longitude))
        self.is_inside_point = True

    def end(self, tag: str) -> None:
        name = _local(tag)
        if name == "trkpt":
            self.is_inside_point = False
        elif self.is_inside_point and name == "time":
            self.points[-1].time = self.text.strip()
        elif self.is_inside_point and name == "speed":
            self.points[-1].speed_m_s = self.text.strip()

    def characters(self, text: str) -> None:
        # Only short texts say anything; a long one would be copied at each of its pieces.
        if self.is_inside_point and len(self.text) < _LONGEST_TEXT:
            self.text += text

    def refuse_doctype(self, *_: object) -> None:
        # A track needs none; entities declared in one can swell without end or reach other files.
        raise RecordingError(
            f"{shown_name(self.path)} declares a document type, which a track never needs; "
            "it is not read.",
            _EXPORT_AGAIN,
        )


def read_gpx(path: Path, content: bytes) -> SpeedRecord:
    """Read the track points of a GPX file in their order.

    Raises
    ------
    RecordingError
        When it is no GPX, has no track points, or one of them has no time or position.

    Notes
    -----
    The receiver's speed, in m/s, is taken where every point has one (an element ``speed``, in
    GPX 1.0 of the point itself, in 1.1 among its extensions). Otherwise the speed at a point is
    the way from the point before to the point behind over the time between: a mean over two
    intervals, which smooths single jumps of position and shortens no coast-down. At the ends one
    interval is taken. Short ways use the two radii of curvature of the ellipsoid; a
    haversine on a sphere is wrong by up to 0.6 % with latitude and direction.
    """
    points = _parsed(path, content)
    times_s = _times_s(path, points)
    written = [point.speed_m_s for point in points]
    if all(written):
        return SpeedRecord(checked_trace(path, times_s, _own_speeds(path, written)))
    steps_m = distances_m(
        np.array([point.latitude_deg for point in points]),
        np.array([point.longitude_deg for point in points]),
    )
    # Checked before dividing by the time between the points.
    checked_trace(path, times_s, np.zeros(len(times_s)))
    way_m = np.concatenate([[0.0], np.cumsum(steps_m)])
    index = np.arange(len(points))
    before, behind = np.maximum(index - 1, 0), np.minimum(index + 1, len(points) - 1)
    speed_m_s = (way_m[behind] - way_m[before]) / (times_s[behind] - times_s[before])
    return SpeedRecord(checked_trace(path, times_s, speed_m_s * KM_H_PER_M_S), (_SPEED_NOTE,))


def distances_m(latitude_deg: Series, longitude_deg: Series) -> Series:
    """Ways between neighbouring positions on the WGS 84 ellipsoid, for steps of up to some km.

    Returns
    -------
    Shape (n - 1,), metres.
    """
    latitude = np.radians(latitude_deg)
    middle = (latitude[1:] + latitude[:-1]) / 2
    east = np.radians((np.diff(longitude_deg) + 180.0) % 360.0 - 180.0)
    eccentricity_squared = _FLATTENING * (2 - _FLATTENING)
    root = np.sqrt(1 - eccentricity_squared * np.sin(middle) ** 2)
    across_m = _SEMI_MAJOR_AXIS_M / root
    along_m = _SEMI_MAJOR_AXIS_M * (1 - eccentricity_squared) / root**3
    return np.hypot(along_m * np.diff(latitude), across_m * np.cos(middle) * east)


def _parsed(path: Path, content: bytes) -> list[_TrackPoint]:
    track = _Track(path)
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.StartElementHandler = track.start
    parser.EndElementHandler = track.end
    parser.CharacterDataHandler = track.characters
    parser.StartDoctypeDeclHandler = track.refuse_doctype
    try:
        parser.Parse(content, True)
    except (expat.ExpatError, ValueError) as error:
        # ValueError: an encoding that the parser does not know.
        raise RecordingError(
            f"{shown_name(path)} is not a whole XML file, so no track can be read from it.",
            "Copy it again from the receiver, or export it again.",
        ) from error
    if not track.points:
        raise RecordingError(f"{shown_name(path)} holds no track points.", _EXPORT_AGAIN)
    return track.points


def _local(tag: str) -> str:
    return tag.rpartition(" ")[2]


def _times_s(path: Path, points: list[_TrackPoint]) -> Series:
    moments = []
    for number, point in enumerate(points, start=1):
        try:
            moment = datetime.fromisoformat(point.time)
        except ValueError as error:
            written = f"'{point.time[:30]}' is none" if point.time else "none stands there"
            raise RecordingError(
                f"{shown_name(path)}: track point {number} needs a time, and {written}.",
                _EXPORT_AGAIN,
            ) from error
        moments.append(moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment)
    return np.array([(moment - moments[0]).total_seconds() for moment in moments])


def _own_speeds(path: Path, written: list[str]) -> Series:
    try:
        return np.array([float(speed) for speed in written]) * KM_H_PER_M_S
    except ValueError as error:
        raise RecordingError(
            f"{shown_name(path)} holds a speed that is not a number.", _EXPORT_AGAIN
        ) from error
