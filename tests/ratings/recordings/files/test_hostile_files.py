"""Files made to reach others, to fill the memory or to keep the program busy."""

import resource
import subprocess
import sys
import textwrap
import zlib
from pathlib import Path

import h5py
import numpy as np
import pytest
import scipy.io
import soundfile

from ratings.errors import RecordingError
from ratings.recordings.read import describe
from ratings.recordings.speed.trace_files import read_speed_trace

MB = 2**20
#: What a reader may take on top of what Python and its libraries take (own choice).
MOST_MB = 700
CHILD = """
import sys
from pathlib import Path
from ratings.errors import RecordingError
from ratings.recordings.read import describe
try:
    describe(Path(sys.argv[1]))
except RecordingError as refusal:
    print(refusal)
"""


def described_in_little_memory(path: Path) -> str:
    """Describe a file in a process that may not grow beyond a bound; return what it said."""

    def bind() -> None:
        # Libraries map some 2 GB of addresses before a single sample is read.
        limit = (2048 + MOST_MB) * MB
        resource.setrlimit(resource.RLIMIT_AS, (limit, limit))

    run = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(CHILD), path],
        capture_output=True,
        text=True,
        check=False,
        preexec_fn=bind,
        env={"OPENBLAS_NUM_THREADS": "1", "PYTHONPATH": str(Path(__file__).parents[4])},
    )
    assert run.returncode == 0, run.stderr[-500:]
    return run.stdout


def hdf5(path: Path, make) -> Path:
    with h5py.File(path, "w") as file:
        file["fs"] = 48_000.0
        make(file)
    return path


def private_file(folder: Path) -> Path:
    path = folder / "private.bin"
    path.write_bytes(np.arange(10_000, dtype="f8").tobytes())
    return path


def test_that_samples_in_another_file_are_not_read(tmp_path):
    private = private_file(tmp_path)
    path = hdf5(
        tmp_path / "external.h5",
        lambda file: file.create_dataset(
            "x", (10_000,), "f8", external=[(str(private), 0, h5py.h5f.UNLIMITED)]
        ),
    )
    with pytest.raises(RecordingError, match="points at other files"):
        describe(path)


def test_that_samples_mapped_from_another_file_are_not_read(tmp_path):
    hdf5(tmp_path / "other.h5", lambda file: file.create_dataset("x", data=np.arange(10_000.0)))
    layout = h5py.VirtualLayout((10_000,), "f8")
    layout[:] = h5py.VirtualSource(str(tmp_path / "other.h5"), "x", (10_000,))
    path = hdf5(tmp_path / "virtual.h5", lambda file: file.create_virtual_dataset("x", layout))
    with pytest.raises(RecordingError, match="points at other files"):
        describe(path)


def test_that_a_rate_in_another_file_is_not_read(tmp_path):
    private = private_file(tmp_path)
    path = tmp_path / "rate.h5"
    with h5py.File(path, "w") as file:
        file["x"] = np.zeros(9_600)
        file.create_dataset("fs", (1,), "f8", external=[(str(private), 0, 8)])
    with pytest.raises(RecordingError, match="points at other files"):
        describe(path)


def test_that_links_to_other_files_are_not_followed(tmp_path):
    hdf5(tmp_path / "other.h5", lambda file: file.create_dataset("x", data=np.arange(10_000.0)))
    path = tmp_path / "link.h5"
    with h5py.File(path, "w") as file:
        file["fs"] = 48_000.0
        file["x"] = h5py.ExternalLink("other.h5", "/x")
    with pytest.raises(RecordingError, match="no array of real numbers"):
        describe(path)


def test_that_an_hdf5_file_that_swells_is_refused(tmp_path):
    def make(file):
        array = file.create_dataset("x", (2**28,), "f8", chunks=(2**20,), compression=9)
        packed = zlib.compress(bytes(2**23), 9)
        for start in range(0, 2**28, 2**20):
            array.id.write_direct_chunk((start,), packed)

    path = hdf5(tmp_path / "swells.h5", make)
    assert path.stat().st_size < 4 * MB
    assert "would unpack from 2." in described_in_little_memory(path)


def test_that_an_hdf5_file_in_one_huge_piece_is_refused(tmp_path):
    path = tmp_path / "piece.h5"
    with h5py.File(path, "w") as file:
        file["fs"] = 48_000.0
        array = file.create_dataset(
            "x", (2**20,), "f8", chunks=(2**26,), maxshape=(None,), compression=9
        )
        array.id.write_direct_chunk((0,), b"not packed at all")
    assert "in pieces of more than 256 MB" in described_in_little_memory(path)


def packed_mat(path: Path, values: int, behind: int) -> Path:
    """Write a MAT file of zeros in one packed variable, with more zeros behind its end."""
    scipy.io.savemat(path, {"x": np.zeros((1, 7))})
    content = path.read_bytes()
    head = content[128 : -7 * 8 - 4] + (8 * values).to_bytes(4, "little")
    head = head.replace((7).to_bytes(4, "little"), values.to_bytes(4, "little"))
    packer = zlib.compressobj(1)
    packed = packer.compress(head)
    for _ in range((8 * values + behind) // MB):
        packed += packer.compress(bytes(MB))
    packed += packer.flush()
    element = b"\x0f\0\0\0" + len(packed).to_bytes(4, "little") + packed
    scipy.io.savemat(path, {"fs": 48e3})
    path.write_bytes(path.read_bytes() + element)
    return path


@pytest.mark.slow
def test_that_a_mat_file_that_swells_is_refused(tmp_path):
    path = packed_mat(tmp_path / "a.mat", 100 * MB, 0)
    assert path.stat().st_size < 5 * MB
    assert "would unpack from" in described_in_little_memory(path)


@pytest.mark.slow
def test_that_a_mat_variable_that_unpacks_to_more_than_its_size_is_refused(tmp_path):
    path = packed_mat(tmp_path / "lies.mat", MB, 1024 * MB)
    assert "is damaged or was cut off" in described_in_little_memory(path)


@pytest.mark.slow
def test_that_a_flac_file_of_hours_of_nothing_is_refused(tmp_path):
    path = tmp_path / "silence.flac"
    with soundfile.SoundFile(path, "w", 48_000, 8, "PCM_16") as file:
        for _ in range(40):
            file.write(np.zeros((2**19, 8), "i2"))
    assert path.stat().st_size < 3 * MB
    assert "would unpack from" in described_in_little_memory(path)


def test_that_a_header_that_promises_without_end_is_refused(tmp_path):
    path = tmp_path / "endless.flac"
    soundfile.write(path, np.random.default_rng(1).normal(0, 0.1, 48_000), 48_000)
    content = bytearray(path.read_bytes())
    content[21] |= 0x0F
    content[22:26] = b"\xff" * 4
    path.write_bytes(content)
    assert "would unpack from" in described_in_little_memory(path)


def test_that_a_universal_file_of_countless_data_sets_is_refused(tmp_path):
    path = tmp_path / "many.uff"
    path.write_bytes(b"    -1\n   151\nx\n    -1\n" * 300_000)
    with pytest.raises(RecordingError, match="cannot be read as one"):
        describe(path)


def test_that_a_track_with_entities_or_endless_text_is_no_burden(tmp_path):
    bomb = tmp_path / "bomb.gpx"
    entities = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 12))
    bomb.write_text(f'<!DOCTYPE gpx [<!ENTITY a0 "x">{entities}]><gpx>&a11;</gpx>')
    with pytest.raises(RecordingError, match="declares a document type"):
        read_speed_trace(bomb)
    long = tmp_path / "long.gpx"
    point = '<trkpt lat="50" lon="{}"><time>{}</time></trkpt>'
    long.write_text(
        "<gpx><trk><trkseg>"
        + point.format("8.0", "2031-07-31T09:00:00Z" + " <a/>" * 200_000)
        + point.format("8.001", "2031-07-31T09:00:01Z")
        + "</trkseg></trk></gpx>"
    )
    with pytest.raises(RecordingError):
        read_speed_trace(long)


def test_that_groups_nested_without_end_are_refused(tmp_path):
    def make(file):
        group = file
        for _ in range(300):
            group = group.create_group("g")
        group["x"] = np.zeros(9_600)

    path = hdf5(tmp_path / "deep.h5", make)
    with pytest.raises(RecordingError, match="cannot be read as one"):
        describe(path)


def packed_mdf(path: Path) -> bytearray:
    from asammdf import MDF, Signal

    samples = np.random.default_rng(1).normal(0, 1, 96_000)
    with MDF() as file:
        file.append([Signal(samples, np.arange(96_000) / 48_000, name="p")])
        file.save(path, overwrite=True, compression=2)
    return bytearray(path.read_bytes())


def test_that_damage_in_a_packed_block_of_mdf_is_told(tmp_path):
    path = tmp_path / "run.mf4"
    content = packed_mdf(path)
    block = content.index(b"##DZ")
    for at in range(60, 4_000, 250):
        damaged = content.copy()
        damaged[block + at] ^= 0xFF
        path.write_bytes(damaged)
        with pytest.raises(RecordingError):
            describe(path)


def test_that_a_packed_block_of_mdf_that_holds_more_than_it_says_is_refused(tmp_path):
    path = tmp_path / "run.mf4"
    content = packed_mdf(path)
    block = content.index(b"##DZ")
    packed = zlib.compress(bytes(300 * MB), 1)
    # A block of its own at the end, to which every link to the first one leads.
    head = bytearray(content[block : block + 48])
    head[8:16] = (48 + len(packed)).to_bytes(8, "little")
    head[40:48] = len(packed).to_bytes(8, "little")
    content = content.replace(block.to_bytes(8, "little"), len(content).to_bytes(8, "little"))
    path.write_bytes(content + head + packed)
    assert "is damaged or was cut off" in described_in_little_memory(path)


def test_that_an_mdf_file_that_swells_is_refused(tmp_path):
    path = tmp_path / "run.mf4"
    content = packed_mdf(path)
    block = content.index(b"##DZ")
    content[block + 32 : block + 40] = (2**33).to_bytes(8, "little")
    path.write_bytes(content)
    with pytest.raises(RecordingError, match="would unpack"):
        describe(path)
