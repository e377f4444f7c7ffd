"""A receiver's log gives the speeds of its whole sentences and says what it left out."""

from pathlib import Path

import numpy as np
import pytest

from ratings.errors import RecordingError
from ratings.recordings.speed.trace_files import read_speed_record

#: Example sentences printed in many receivers' manuals (from memory), with their own checksums.
_PRINTED_RMC = "$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A"
_PRINTED_VTG = "$GPVTG,054.7,T,034.4,M,005.5,N,010.2,K*48"
_PRINTED_GGA = "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47"


def _sentence(body: str) -> str:
    checksum = 0
    for character in body:
        checksum ^= ord(character)
    return f"${body}*{checksum:02X}"


def _rmc(time: str, knots: float | str, status: str = "A", talker: str = "GP") -> str:
    return _sentence(f"{talker}RMC,{time},{status},4807.0,N,01131.0,E,{knots},84.4,230394,,")


def _log(path: Path, *lines: str) -> Path:
    path.write_text("\r\n".join(lines) + "\r\n", encoding="ascii")
    return path


def test_that_printed_examples_are_read(tmp_path: Path) -> None:
    later = _rmc("123520", 22.4)

    record = read_speed_record(_log(tmp_path / "a.nmea", _PRINTED_RMC, later))

    np.testing.assert_allclose(record.trace.times_s, [0.0, 1.0])
    # 22.4 knots x 1.852.
    np.testing.assert_allclose(record.trace.speed_km_h, 41.4848)
    assert record.remarks == ()


def test_that_vtg_takes_the_time_of_the_position_before(tmp_path: Path) -> None:
    second = _sentence("GPGGA,123519.500,4807.0,N,01131.0,E,1,08,0.9,545.4,M,46.9,M,,")
    knots_only = _sentence("GPVTG,054.7,T,034.4,M,005.5,N,,K")
    log = _log(tmp_path / "a.log", _PRINTED_GGA, _PRINTED_VTG, second, knots_only)

    record = read_speed_record(log, offset_s=10.0)

    np.testing.assert_allclose(record.trace.times_s, [10.0, 10.5])
    np.testing.assert_allclose(record.trace.speed_km_h, [10.2, 5.5 * 1.852])
    assert record.remarks == ("speed from VTG sentences, at the time of the position before each",)


def test_that_midnight_is_passed(tmp_path: Path) -> None:
    times = ("235958.50", "235959.50", "000000.50", "000001.50")

    record = read_speed_record(_log(tmp_path / "a.nmea", *(_rmc(t, 50) for t in times)))

    np.testing.assert_allclose(record.trace.times_s, [0.0, 1.0, 2.0, 3.0])


def test_that_bad_lines_are_left_out_and_counted(tmp_path: Path) -> None:
    good = [_rmc(f"1200{second:02d}", 50 + second) for second in range(6)]
    wrong = good[2].replace("A,4807", "A,4817")
    log = _log(
        tmp_path / "a.nmea", good[0], good[1], wrong, "$GPRMC,1200", _rmc("120003", "", "V"),
        *good[4:],
    )  # fmt: skip

    record = read_speed_record(log)

    np.testing.assert_allclose(record.trace.times_s, [0.0, 1.0, 4.0, 5.0])
    assert record.remarks == (
        "2 of 7 lines left out: damaged or wrong checksum",
        "sentences without a valid speed left out: 1",
    )


def test_that_one_of_several_systems_is_followed(tmp_path: Path) -> None:
    lines = [
        _rmc(f"1200{second:02d}", knots, talker=talker)
        for second in range(3)
        for talker, knots in (("GN", 50), ("GP", 90))
    ]

    record = read_speed_record(_log(tmp_path / "a.nmea", *lines))

    np.testing.assert_allclose(record.trace.speed_km_h, [92.6, 92.6, 92.6])


@pytest.mark.parametrize(
    ("lines", "sentence"),
    [
        ([_PRINTED_GGA], "holds no valid speed: among 1 lines"),
        ([_rmc("120000", 50, "V")] * 3, "holds no valid speed"),
        ([_PRINTED_VTG] * 2, "holds no valid speed"),
        ([_PRINTED_RMC], "1 point of"),
        ([_PRINTED_RMC, _PRINTED_RMC], "times do not increase"),
        ([_PRINTED_RMC[:-2] + "00"] * 3, "damaged: 3 of 3 lines"),
        ([_rmc("120000", -5), _rmc("120001", 5)], "below zero"),
        ([_rmc("120000", "inf"), _rmc("120001", "x")], "holds no valid speed"),
    ],
)
def test_that_a_wrong_log_is_one_sentence(tmp_path: Path, lines: list[str], sentence: str) -> None:
    with pytest.raises(RecordingError) as refusal:
        read_speed_record(_log(tmp_path / "a.nmea", *lines))

    assert sentence in refusal.value.what_happened
    assert "'a.nmea'" in refusal.value.what_happened
