"""Damaged speed files give a trace or a refusal, and never anything else."""

from pathlib import Path

import numpy as np
import pytest

from ratings.errors import RatingsError
from ratings.recordings.speed.trace_files import read_speed_trace

_CSV = b"time_s;speed_km_h;note\n" + b"".join(b"%d,5;8%d,25;x\n" % (n, n % 10) for n in range(30))
_GPX = (
    b'<?xml version="1.0" encoding="UTF-8"?><gpx xmlns="http://www.topografix.com/GPX/1/1"><trk>'
    + b"".join(
        b'<trkpt lat="48.%03d" lon="11"><time>2026-05-04T10:00:%02dZ</time></trkpt>' % (n, n)
        for n in range(30)
    )
    + b"</trk></gpx>"
)
_NMEA = b"".join(
    b"$GPRMC,1235%02d,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*%02X\r\n"
    % (n, 0x6A ^ ord("1") ^ ord("9") ^ (0x30 + n // 10) ^ (0x30 + n % 10))
    for n in range(30)
)


@pytest.mark.parametrize("content", [_CSV, _GPX, _NMEA], ids=["csv", "gpx", "nmea"])
def test_that_damage_never_gives_a_traceback(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "run.txt"
    path.write_bytes(content)
    assert read_speed_trace(path).times_s[-1] == pytest.approx(29, abs=0.5001)
    generator = np.random.default_rng(8)
    refused = 0
    for _ in range(300):
        damaged = bytearray(content)
        for _ in range(int(generator.integers(1, 12))):
            damaged[int(generator.integers(len(damaged)))] = int(generator.integers(256))
        kept = int(generator.integers(len(damaged) // 2, len(damaged) + 1))
        path.write_bytes(bytes(damaged[:kept]))
        try:
            trace = read_speed_trace(path)
        except RatingsError:
            refused += 1
        else:
            assert np.isfinite(trace.speed_km_h).all()
    assert 0 < refused <= 300
