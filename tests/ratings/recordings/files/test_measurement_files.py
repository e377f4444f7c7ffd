"""What only some measurement files have: attributes, groups, wrong names, an optional package."""

import struct
import sys
import tracemalloc
from pathlib import Path

import asammdf
import h5py
import numpy as np
import pytest
import scipy.io

from ratings.errors import RecordingError
from ratings.recordings.opening import open_recording
from ratings.recordings.read import describe, read_sound

_SAMPLES = np.random.default_rng(1).normal(0, 1, (9_600, 2))


def test_that_units_and_names_at_the_array_are_read(tmp_path: Path) -> None:
    with h5py.File(tmp_path / "run.h5", "w") as file:
        pressure = file.create_dataset("run 3/pressure", data=_SAMPLES.astype("f4"))
        pressure.attrs["units"] = ["mPa", "V"]
        pressure.attrs["channel_names"] = ["left ear", "accelerometer"]
        file["run 3"].attrs["sampling_frequency"] = 51_200
        file["run 3/tyre"] = "birch"

    with open_recording(tmp_path / "run.h5") as recording:
        assert recording.channel_names == ("left ear", "accelerometer")
        assert recording.units == ("mPa", "V")
        assert recording.pa_per_full_scale == (1e-3, None)
        assert recording.sample_rate_hz == 51_200


@pytest.mark.slow
def test_that_an_hdf5_file_streams(tmp_path: Path) -> None:
    path = tmp_path / "long.h5"
    with h5py.File(path, "w") as file:
        long = file.create_dataset("x", (8, 1_440_000), "f4", chunks=(8, 65_536), compression="lzf")
        for start in range(0, 1_440_000, 720_000):
            long[:, start : start + 720_000] = np.arange(720_000, dtype="f4")
        file.attrs["fs"] = 48_000

    tracemalloc.start()
    facts = describe(path)
    peak_bytes = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()

    assert (facts.channels, facts.frames) == (8, 1_440_000)
    assert facts.by_channel[7].mean_full_scale == pytest.approx(359_999.5)
    # Whole, it would be 46 MB as stored and 92 MB in double precision.
    assert peak_bytes < 20e6


@pytest.mark.parametrize("chunks", [None, (1_000, 2)])
def test_that_samples_that_were_never_written_are_told(tmp_path: Path, chunks) -> None:
    with h5py.File(tmp_path / "run.h5", "w") as file:
        file.attrs["fs"] = 48_000
        pressure = file.create_dataset("pressure", (9_600, 2), "f4", chunks=chunks)
        if chunks:
            pressure[:4_500] = 1.0

    with pytest.raises(RecordingError, match=f"only {50 if chunks else 0} % of its samples"):
        describe(tmp_path / "run.h5")


def test_that_text_tables_and_empty_arrays_are_told(tmp_path: Path) -> None:
    with h5py.File(tmp_path / "run.h5", "w") as file:
        file["words"] = ["wet", "dry"]
        file["none"] = np.zeros((0, 2))
        file["table"] = np.zeros(5, dtype=[("time", "f8"), ("x", "f8")])
        file["nothing"] = h5py.Empty("f8")
        file["fs"] = 48_000
    with pytest.raises(RecordingError, match="no array of real numbers"):
        describe(tmp_path / "run.h5")

    scipy.io.savemat(
        tmp_path / "run.mat",
        {
            "run": {"x": _SAMPLES},
            "cells": np.array(["a", 1], dtype=object),
            "none": np.zeros((0, 0)),
        },
    )
    with pytest.raises(RecordingError, match=r"no array of real numbers.*run \(1 x 1, struct\)"):
        describe(tmp_path / "run.mat")


def test_that_wrong_extensions_do_not_matter(make_recording, tmp_path: Path) -> None:
    wav = make_recording("run.wav")
    assert describe(wav.rename(tmp_path / "run.mat")).container == "WAV"
    scipy.io.savemat(tmp_path / "other.mat", {"x": _SAMPLES, "fs": 48_000})
    renamed = (tmp_path / "other.mat").rename(tmp_path / "other.wav")
    assert describe(renamed).container == "MAT"


@pytest.mark.parametrize("name", ["run.mat", "run.uff", "run.h5", "run.mf4"])
@pytest.mark.parametrize(
    ("content", "expected"),
    [
        (b"", "it holds no bytes"),
        (b"wind 3 m/s\n" * 300, "named like a measurement file"),
        (bytes(4_000), "named like a measurement file"),
    ],
)
def test_that_other_content_under_such_a_name_is_told(tmp_path, name, content, expected) -> None:
    (tmp_path / name).write_bytes(content)

    with pytest.raises(RecordingError, match=expected):
        describe(tmp_path / name)


@pytest.mark.parametrize(
    ("name", "head", "expected"),
    [
        ("run.mat", b"MATLAB 5.0 MAT-file".ljust(124) + b"\x00\x01IM", "no array"),
        ("run.h5", b"\x89HDF\r\n\x1a\n", "header is damaged"),
        ("run.uff", b"    -1\n    58\nNONE\n", "header is damaged"),
        ("run.mf4", b"MDF     4.10    ", "damaged or was cut off"),
        ("run.mf4", b"UnFinMF 4.10    ", "never finished"),
        ("run.mdf", b"MDF     3.30    ", "version 3"),
    ],
)
def test_that_a_head_without_a_body_is_told(tmp_path, name, head, expected) -> None:
    (tmp_path / name).write_bytes(head)

    with pytest.raises(RecordingError, match=expected):
        describe(tmp_path / name)


def _mdf(path: Path, compression: int = 0, late_s: float = 0.0, **given: object) -> Path:
    time_s = np.arange(9_600) / 48_000
    slow_s = np.arange(20) / 100
    with asammdf.MDF(version="4.10") as file:
        for number, name in enumerate(("left", "right")):
            axis = time_s + number * late_s
            file.append(
                asammdf.Signal(_SAMPLES[:, number].astype("f4"), axis, unit="Pa", name=name)
            )
        file.append(asammdf.Signal(80 + slow_s, slow_s, unit="km/h", name="speed"))
        file.save(path, overwrite=True, compression=compression)
    return path


@pytest.mark.parametrize("compression", [0, 1, 2])
def test_that_the_channels_of_sound_are_taken_from_mdf(tmp_path, compression: int) -> None:
    path = _mdf(tmp_path / "run.mf4", compression)

    with open_recording(path) as recording:
        assert (recording.container, recording.encoding) == ("MDF4", "float32")
        assert (recording.sample_rate_hz, recording.frames) == (48_000, 9_600)
        assert recording.channel_names == ("left", "right")
        assert recording.units == ("Pa", "Pa")
        np.testing.assert_array_equal(recording.read(0, 9_600), _SAMPLES.astype("f4"))
        np.testing.assert_array_equal(
            np.concatenate(list(recording.blocks(997))), _SAMPLES.astype("f4")
        )


def test_that_mdf_channels_that_begin_apart_are_told(tmp_path: Path) -> None:
    with pytest.raises(RecordingError, match="differ in sample rate, start or length"):
        describe(_mdf(tmp_path / "run.mf4", late_s=0.01))


def test_that_an_mdf_file_of_slow_channels_is_told(tmp_path: Path) -> None:
    slow_s = np.arange(20) / 100
    with asammdf.MDF(version="4.10") as file:
        file.append(asammdf.Signal(80 + slow_s, slow_s, unit="km/h", name="speed"))
        file.save(tmp_path / "run.mf4")

    with pytest.raises(RecordingError, match="no channel of numbers that is sampled evenly"):
        describe(tmp_path / "run.mf4")


@pytest.mark.parametrize("share", [0.01, 0.2, 0.5, 0.8, 0.99])
def test_that_an_mdf_file_cut_off_is_told(tmp_path: Path, share: float) -> None:
    path = _mdf(tmp_path / "run.mf4")
    content = path.read_bytes()
    path.write_bytes(content[: int(len(content) * share)])

    with pytest.raises(RecordingError, match="damaged or was cut off"):
        describe(path)


def test_that_links_that_lead_nowhere_or_in_a_circle_are_told(tmp_path: Path) -> None:
    generator = np.random.default_rng(2)
    content = _mdf(tmp_path / "run.mf4").read_bytes()
    heads = [at for at in range(64, len(content), 8) if content[at : at + 2] == b"##"]
    links = [
        head + 24 + 8 * number
        for head in heads
        for number in range(struct.unpack_from("<Q", content, head + 16)[0])
    ]
    used = [link for link in links if content[link : link + 8] != bytes(8)]
    assert len(used) > 20
    for link in used:
        broken = bytearray(content)
        struct.pack_into("<Q", broken, link, int(generator.integers(1, 2**40)))
        (tmp_path / "lost.mf4").write_bytes(broken)
        with pytest.raises(RecordingError, match="damaged or was cut off"):
            describe(tmp_path / "lost.mf4")
    # A channel that is followed by itself.
    channel = next(head for head in heads if content[head : head + 4] == b"##CN")
    broken = bytearray(content)
    struct.pack_into("<Q", broken, channel + 24, channel)
    (tmp_path / "circle.mf4").write_bytes(broken)
    with pytest.raises(RecordingError, match="damaged or was cut off"):
        describe(tmp_path / "circle.mf4")


def test_that_the_missing_optional_package_is_named(tmp_path, monkeypatch) -> None:
    path = _mdf(tmp_path / "run.mf4")
    monkeypatch.setitem(sys.modules, "asammdf", None)

    with pytest.raises(RecordingError, match=r"pip install twinset\[mdf\]"):
        read_sound(path)
