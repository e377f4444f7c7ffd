"""MAT and HDF5 files: one array of samples and its rate, or a sentence about what is there."""

import struct
from collections.abc import Callable
from pathlib import Path

import h5py
import numpy as np
import pytest
import scipy.io

from ratings.errors import RecordingError
from ratings.recordings.opening import open_recording
from ratings.recordings.read import describe, read_sound

_SAMPLES = np.random.default_rng(1).normal(0, 1, (9_600, 2))


def _mat(path: Path, content: dict) -> None:
    scipy.io.savemat(path, content)


def _packed_mat(path: Path, content: dict) -> None:
    scipy.io.savemat(path, content, do_compression=True)


def _hdf5(path: Path, content: dict) -> None:
    with h5py.File(path, "w") as file:
        for name, value in content.items():
            file[name] = value


def _mat_7_3(path: Path, content: dict) -> None:
    """The layout that this version writes: columns as rows, texts as codes, 512 bytes before."""
    with h5py.File(path, "w", userblock_size=512) as file:
        for name, value in content.items():
            is_text = isinstance(value, str)
            stored = np.array([[ord(c)] for c in value], "u2") if is_text else np.atleast_2d(value)
            file[name] = stored if is_text else stored.T
            file[name].attrs["MATLAB_class"] = np.bytes_("char" if is_text else "double")
    with path.open("r+b") as stream:
        stream.write(b"MATLAB 7.3 MAT-file, Platform".ljust(124) + b"\x00\x02IM")


_WRITERS: dict[str, tuple[Callable[[Path, dict], None], str]] = {
    "MAT": (_mat, "run.mat"),
    "packed MAT": (_packed_mat, "run.mat"),
    "MAT 7.3": (_mat_7_3, "run.mat"),
    "HDF5": (_hdf5, "run.h5"),
}


@pytest.fixture(params=_WRITERS)
def write(request: pytest.FixtureRequest, tmp_path: Path) -> Callable[[dict], Path]:
    writer, name = _WRITERS[request.param]

    def run(content: dict) -> Path:
        writer(tmp_path / name, content)
        return tmp_path / name

    return run


def _refusal(path: Path) -> str:
    with pytest.raises(RecordingError) as refusal:
        describe(path)
    assert path.name in refusal.value.what_happened
    assert refusal.value.what_to_do
    assert "\n" not in refusal.value.what_happened
    return refusal.value.what_happened


@pytest.mark.parametrize("rate", [{"fs": 48_000.0}, {"Sample_Rate": 48_000.0}, {"dt": 1 / 48_000}])
@pytest.mark.parametrize("turned", [False, True])
def test_that_samples_and_rate_are_found(write, rate: dict, turned: bool) -> None:
    path = write({"pressure": _SAMPLES.T if turned else _SAMPLES, **rate, "unit": "Pa"})

    with open_recording(path) as recording:
        assert (recording.sample_rate_hz, recording.channels, recording.frames) == (
            48_000,
            2,
            9_600,
        )
        assert recording.encoding == "float64"
        assert recording.units == ("Pa", "Pa")
        assert recording.pa_per_full_scale == (1.0, 1.0)
        np.testing.assert_array_equal(recording.read(0, 9_600), _SAMPLES)
        np.testing.assert_array_equal(recording.read(997, 1_234), _SAMPLES[997:1_234])
        np.testing.assert_array_equal(np.concatenate(list(recording.blocks(777))), _SAMPLES)


def test_that_a_time_axis_gives_the_rate(write) -> None:
    path = write({"x": _SAMPLES[:, 0], "time": 2.5 + np.arange(9_600) / 51_200})

    assert read_sound(path).sample_rate_hz == 51_200
    np.testing.assert_array_equal(read_sound(path).samples, _SAMPLES[:, :1])


def test_that_a_time_axis_with_a_gap_is_told(write) -> None:
    time_s = np.arange(9_600) / 51_200
    time_s[4_800:] += 1 / 51_200

    assert "not evenly spaced" in _refusal(write({"x": _SAMPLES, "time": time_s}))


def test_that_a_missing_rate_is_told(write) -> None:
    sentence = _refusal(write({"x": _SAMPLES, "speed": 80.0}))

    assert "no sample rate" in sentence
    assert "x (" in sentence


def test_that_two_rates_are_told(write) -> None:
    sentence = _refusal(write({"x": _SAMPLES, "fs": 48_000.0, "dt": 1 / 44_100}))

    assert "more than one sample rate: fs 48000 Hz, dt 44100 Hz" in sentence


def test_that_a_rate_that_is_no_whole_number_is_told(write) -> None:
    assert "8192.5 Hz" in _refusal(write({"x": _SAMPLES, "fs": 8_192.5}))


def test_that_two_arrays_are_told_with_their_sizes(write) -> None:
    sentence = _refusal(write({"left": _SAMPLES[:, 0], "right": _SAMPLES[:, 1], "fs": 48_000.0}))

    assert "2 arrays that could be the recording: left (" in sentence
    assert "9600" in sentence


def test_that_short_arrays_beside_the_samples_do_no_harm(write) -> None:
    path = write({"x": _SAMPLES, "sensitivity": np.array([0.05, 0.051]), "fs": 48_000.0})

    assert describe(path).frames == 9_600


def test_that_numbers_alone_are_told(write) -> None:
    assert "no array of real numbers" in _refusal(write({"fs": 48_000.0, "speed": 80.0}))


def test_that_a_square_is_told(write) -> None:
    assert "as long as it is wide" in _refusal(
        write({"x": _SAMPLES[:50, :1] * np.ones(50), "fs": 48_000.0})
    )


def test_that_complex_numbers_are_told(write) -> None:
    sentence = _refusal(write({"x": _SAMPLES * (1 + 1j), "fs": 48_000.0}))

    assert "complex" in sentence or "no array of real numbers" in sentence


def test_that_a_value_that_is_no_number_is_told_with_its_place(write) -> None:
    samples = _SAMPLES.copy()
    samples[4_800, 1] = np.nan

    assert "channel 2 at 0.100 s" in _refusal(write({"x": samples, "fs": 48_000.0}))


def test_that_500_channels_and_a_slow_rate_are_told(write) -> None:
    assert "500 channels" in _refusal(write({"x": np.ones((1_000, 500)), "fs": 48_000.0}))
    assert "100 Hz" in _refusal(write({"x": _SAMPLES, "fs": 100.0}))


def test_that_samples_of_a_number_type_are_read_as_stored(write) -> None:
    codes = np.rint(_SAMPLES * 5_000).astype(np.int16)
    codes[10:14, 0] = [32_767, -32_768, -32_767, 32_766]
    facts = describe(write({"x": codes, "fs": 48_000.0}))

    assert facts.encoding == "int16"
    assert facts.by_channel[0].highest_full_scale == 32_767
    assert [channel.clipped_samples for channel in facts.by_channel] == [3, 0]
    assert facts.pa_per_full_scale == (None, None)
    assert not facts.is_lossy


def test_that_flattened_peaks_count_as_clipped(write) -> None:
    facts = describe(write({"x": np.clip(_SAMPLES, -9.0, 1.2), "fs": 48_000.0}))

    flat = _SAMPLES >= 1.2
    by_hand = [
        sum(len(run) for run in "".join("x" if f else " " for f in column).split() if len(run) > 2)
        for column in flat.T
    ]
    assert [channel.clipped_samples for channel in facts.by_channel] == by_hand
    assert min(by_hand) > 3


@pytest.mark.parametrize("share", [0.0005, 0.1, 0.5, 0.9, 0.999])
def test_that_a_file_cut_off_anywhere_is_told(write, share: float) -> None:
    path = write({"fs": 48_000.0, "x": _SAMPLES})
    content = path.read_bytes()
    path.write_bytes(content[: int(len(content) * share)])

    assert _refusal(path)


@pytest.mark.slow
def test_that_no_broken_byte_trips_the_reader(write) -> None:
    generator = np.random.default_rng(2)
    path = write({"fs": 48_000.0, "x": _SAMPLES[:40]})
    content = path.read_bytes()
    refused = []
    for _ in range(150):
        broken = bytearray(content)
        for place in generator.integers(0, len(content), 12):
            broken[place] = generator.integers(0, 256)
        path.write_bytes(broken)
        try:
            assert describe(path).frames > 0
        except RecordingError as refusal:
            refused.append(refusal.what_happened)
    assert len(refused) > 10
    assert all(path.name in sentence for sentence in refused)


@pytest.mark.parametrize("order", ["<", ">"])
def test_that_both_byte_orders_and_small_elements_of_mat_are_read(tmp_path, order: str) -> None:
    """Built by the tables of the format: whole numbers of a double array stored in two bytes."""

    def element(kind: int, content: bytes) -> bytes:
        if 0 < len(content) <= 4:
            head = struct.pack(f"{order}I", len(content) << 16 | kind)
            return head + content.ljust(4, b"\0")
        return struct.pack(f"{order}2I", kind, len(content)) + content + bytes(-len(content) % 8)

    def double(name: str, rows: int, columns: int, kind: int, values: bytes) -> bytes:
        flags = element(6, struct.pack(f"{order}2I", 6, 0))
        shape = element(5, struct.pack(f"{order}2i", rows, columns))
        return element(14, flags + shape + element(1, name.encode()) + element(kind, values))

    codes = np.arange(-100, 100, dtype=f"{order}i2")
    rate = np.array([48_000], f"{order}u2")
    mark = b"\x00\x01IM" if order == "<" else b"\x01\x00MI"
    path = tmp_path / "run.mat"
    path.write_bytes(
        b"MATLAB 5.0 MAT-file".ljust(124)
        + mark
        + double("pressure", 100, 2, 3, codes.tobytes())
        + double("fs", 1, 1, 4, rate.tobytes())
    )

    sound = read_sound(path)

    assert sound.sample_rate_hz == 48_000
    np.testing.assert_array_equal(sound.samples, codes.reshape(2, 100).T)
    if order == "<":
        elsewhere = scipy.io.loadmat(path)["pressure"]
        np.testing.assert_array_equal(sound.samples, elsewhere)
