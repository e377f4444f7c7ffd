"""A satellite track gives the speed that was driven."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from ratings.errors import RecordingError
from ratings.recordings.speed.gpx import distances_m
from ratings.recordings.speed.trace_files import read_speed_record

_HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1" '
    'xmlns:x="urn:extension"><trk><trkseg>'
)
_TAIL = "</trkseg></trk></gpx>"


def _point(latitude: float, longitude: float, time_s: float | str, more: str = "") -> str:
    if isinstance(time_s, float):
        moment = datetime(2026, 5, 4, 23, 59, 50, tzinfo=UTC) + timedelta(seconds=time_s)
        time_s = f"<time>{moment.isoformat(timespec='milliseconds').replace('+00:00', 'Z')}</time>"
    return f'<trkpt lat="{latitude:.8f}" lon="{longitude:.8f}"><ele>3</ele>{time_s}{more}</trkpt>'


def _write(path: Path, points: list[str], head: str = _HEAD) -> Path:
    path.write_text(head + "".join(points) + _TAIL, encoding="utf-8")
    return path


def _haversine_m(latitude_deg: np.ndarray, longitude_deg: np.ndarray) -> np.ndarray:
    """On a sphere of the mean radius 6371.0088 km (IUGG R1, from memory): another route."""
    latitude, longitude = np.radians(latitude_deg), np.radians(longitude_deg)
    root = (
        np.sin(np.diff(latitude) / 2) ** 2
        + np.cos(latitude[1:]) * np.cos(latitude[:-1]) * np.sin(np.diff(longitude) / 2) ** 2
    )
    return 2 * 6_371_008.8 * np.arcsin(np.sqrt(root))


@pytest.mark.parametrize(
    ("latitude", "along", "across"),
    # Lengths of a degree on the WGS 84 ellipsoid in km, as widely tabulated (from memory).
    [(0.0, 110.574, 111.320), (45.0, 111.132, 78.847), (60.0, 111.412, 55.800)],
)
def test_that_ways_are_those_of_the_ellipsoid(latitude: float, along: float, across: float) -> None:
    step = 0.01
    north = distances_m(np.array([latitude - step / 2, latitude + step / 2]), np.zeros(2))
    east = distances_m(np.full(2, latitude), np.array([179.995, -179.995]))

    assert north[0] / step == pytest.approx(along * 1000, abs=1.0)
    assert east[0] / step == pytest.approx(across * 1000, abs=1.0)


def test_that_a_coast_down_comes_back_from_its_positions(tmp_path: Path) -> None:
    times_s = np.arange(0.0, 30.0)
    speed_km_h = 100.0 - 2.0 * times_s
    way_m = (100.0 * times_s - times_s**2) / 3.6
    # North-east at 48 degrees, with the radii of curvature there.
    latitude = 48.0 + way_m * np.sqrt(0.5) / 111_200.0
    longitude = 11.0 + way_m * np.sqrt(0.5) / 74_600.0
    scale = _haversine_m(latitude, longitude) / np.diff(way_m)
    points = [_point(*row) for row in zip(latitude, longitude, times_s.tolist(), strict=True)]

    record = read_speed_record(_write(tmp_path / "run.gpx", points))

    np.testing.assert_allclose(record.trace.times_s, times_s, atol=1e-9)
    # A sphere is wrong by up to 0.6 %; positions are rounded to a millimetre.
    ratio = record.trace.speed_km_h[1:-1] / speed_km_h[1:-1] / scale.mean()
    np.testing.assert_allclose(ratio, 1.0, atol=0.006)
    fall = np.diff(record.trace.speed_km_h[1:-1])
    np.testing.assert_allclose(fall, -2.0 * scale.mean(), atol=0.02)
    assert "worked out from positions" in record.remarks[0]


@pytest.mark.parametrize(
    "more",
    [
        "<speed>{}</speed>",
        "<extensions><speed>{}</speed></extensions>",
        "<extensions><x:track><x:speed> {} </x:speed><x:course>3</x:course></x:track></extensions>",
    ],
)
def test_that_the_receivers_own_speed_is_preferred(tmp_path: Path, more: str) -> None:
    points = [
        _point(48.0, 11.0 + 0.001 * second, float(second), more.format(25 - second))
        for second in range(4)
    ]

    record = read_speed_record(_write(tmp_path / "run.xml", points), offset_s=2.0)

    np.testing.assert_allclose(record.trace.times_s, [2.0, 3.0, 4.0, 5.0])
    np.testing.assert_allclose(record.trace.speed_km_h, [90.0, 86.4, 82.8, 79.2])
    assert record.remarks == ()


def test_that_speeds_missing_at_one_point_are_all_worked_out(tmp_path: Path) -> None:
    points = [
        _point(0.0, 0.0001 * second, float(second), "<speed>1</speed>" if second else "")
        for second in range(3)
    ]

    record = read_speed_record(_write(tmp_path / "run.gpx", points))

    np.testing.assert_allclose(record.trace.speed_km_h, 11.1320 * 3.6, rtol=1e-4)


@pytest.mark.parametrize(
    ("points", "sentence"),
    [
        ([], "holds no track points"),
        ([_point(48, 11, 0.0)], "1 point of"),
        ([_point(48, 11, ""), _point(48, 11, 1.0)], "track point 1 needs a time, and none"),
        ([_point(48, 11, "<time>noon</time>")], "'noon' is none"),
        ([_point(98, 11, 0.0)], "track point 1 has no position"),
        (["<trkpt lat='1'></trkpt>"], "track point 1 has no position"),
        ([_point(48, 11, 0.0), _point(48, 11, 0.0)], "times do not increase"),
        ([_point(48, 11, 0.0), _point(48, 11, -1.0)], "times do not increase"),
        (
            [_point(48, 11, float(t)) for t in (0, 1, 2, 3, 60)],
            "missing for 57.0 s from 3.0 s on",
        ),
        (
            [_point(48, 11, float(t), "<speed>quick</speed>") for t in (0, 1)],
            "speed that is not a number",
        ),
        (
            [_point(48, 11, float(t), "<speed>nan</speed>") for t in (0, 1)],
            "point 1 is not a number",
        ),
        ([_point(48, 11, float(t), "<speed>-2</speed>") for t in (0, 1)], "below zero"),
        (["<trkpt lat='48' lon='11'>"], "not a whole XML file"),
    ],
)
def test_that_a_wrong_track_is_one_sentence(
    tmp_path: Path, points: list[str], sentence: str
) -> None:
    with pytest.raises(RecordingError) as refusal:
        read_speed_record(_write(tmp_path / "run.gpx", points))

    assert sentence in refusal.value.what_happened
    assert "'run.gpx'" in refusal.value.what_happened


def test_that_a_track_with_entities_is_not_read(tmp_path: Path) -> None:
    bomb = (
        '<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY a "aaaaaaaaaa">'
        '<!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]><gpx><trk><trkseg>'
    )
    points = [_point(48, 11, "<time>&b;</time>")]

    with pytest.raises(RecordingError, match="document type"):
        read_speed_record(_write(tmp_path / "run.gpx", points, bomb))
