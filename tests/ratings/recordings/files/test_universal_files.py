"""Universal files: time histories of type 58 and 58b become the channels of a recording."""

import warnings
from pathlib import Path

import numpy as np
import pytest
import pyuff
from reference_data import beside

from ratings.errors import RecordingError
from ratings.recordings.opening import open_recording
from ratings.recordings.read import describe, read_sound

_RATE_HZ = 51_200


def _data_set(
    samples: np.ndarray, node: int = 1, binary: int = 0, rate_hz: int = _RATE_HZ, **given: object
) -> dict:
    fields = {
        "func_type": 1,
        "id1": "Run 3, coarse road",
        "rsp_ent_name": "EAR",
        "rsp_node": node,
        "rsp_dir": 3,
        "ref_ent_name": "NONE",
        "ref_node": 0,
        "ref_dir": 0,
        "abscissa_spacing": 1,
        "abscissa_min": 0.0,
        "abscissa_inc": 1 / rate_hz,
        "abscissa_spec_data_type": 17,
        "ordinate_spec_data_type": 15,
        "ordinate_axis_units_lab": "Pa",
        "orddenom_spec_data_type": 0,
    }
    fields.update(given)
    axis = np.arange(len(samples)) / rate_hz
    return pyuff.prepare_58(binary=binary, data=samples, x=axis, **fields)


def _write(path: Path, *data_sets: dict, **given: bool) -> Path:
    with warnings.catch_warnings():
        # Its writer of binary sets leaves files open.
        warnings.simplefilter("ignore", ResourceWarning)
        pyuff.UFF(str(path)).write_sets([dict(data) for data in data_sets], "add", **given)
    return path


def _two(
    path: Path, binary: int = 0, frames: int = 10_000, **given: bool
) -> tuple[Path, np.ndarray]:
    samples = np.random.default_rng(1).normal(0, 2, (frames, 2))
    precision = 4 if given.get("force_double", True) else 2
    sets = [
        _data_set(samples[:, node], node + 1, binary, ord_data_type=precision) for node in range(2)
    ]
    return _write(path, *sets, **given), samples


@pytest.mark.parametrize(("binary", "force_double"), [(0, True), (0, False), (1, True)])
def test_that_channels_written_elsewhere_are_read(tmp_path, binary, force_double) -> None:
    path, samples = _two(tmp_path / "run.uff", binary, force_double=force_double)

    with open_recording(path) as recording:
        assert recording.container == "UFF 58"
        assert (recording.sample_rate_hz, recording.channels) == (_RATE_HZ, 2)
        assert recording.frames == 10_000
        assert recording.channel_names == ("EAR 1+Z", "EAR 2+Z")
        assert recording.units == ("Pa", "Pa")
        assert recording.pa_per_full_scale == (1.0, 1.0)
        read = recording.read(0, 10_000)
        np.testing.assert_array_equal(np.concatenate(list(recording.blocks(997))), read)

    # As text, 11 or 5 decimals.
    np.testing.assert_allclose(read, samples, rtol=1e-11 if force_double else 1e-5)
    elsewhere = pyuff.UFF(str(path)).read_sets()
    for channel in range(2):
        np.testing.assert_allclose(read[:, channel], elsewhere[channel]["data"], rtol=1e-7)


@pytest.mark.parametrize(("order", "kind"), [("<", "f4"), (">", "f4"), (">", "f8")])
def test_that_every_order_and_precision_of_binary_values_is_read(tmp_path, order, kind) -> None:
    """pyuff writes little-endian doubles only, so the others are put in their place."""
    path, samples = _two(tmp_path / "run.uff", 1, 50)
    stored = samples.astype(order + kind)
    content = path.read_bytes()
    for channel in range(2):
        double = samples[:, channel].astype("<f8").tobytes()
        assert double in content
        content = content.replace(double, stored[:, channel].tobytes())
    if order == ">":
        content = content.replace(b"58b     1", b"58b     2")
    if kind == "f4":
        content = content.replace(b"         400     0", b"         200     0")
        content = content.replace(b"\n         4        50", b"\n         2        50")
    path.write_bytes(content)

    np.testing.assert_array_equal(read_sound(path).samples, stored)


def test_that_a_count_that_misses_the_closing_mark_is_told(tmp_path: Path) -> None:
    path, _ = _two(tmp_path / "run.uff", 1, 50)
    content = path.read_bytes()
    path.write_bytes(content.replace(b"         400     0", b"         408     0"))

    with pytest.raises(RecordingError, match="mark that ends a channel"):
        describe(path)


def test_that_a_recorder_that_ends_lines_twice_is_read(tmp_path: Path) -> None:
    path, samples = _two(tmp_path / "run.uff", 0, 101)
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))

    np.testing.assert_allclose(read_sound(path).samples, samples, rtol=1e-11)


def test_that_exponents_of_fortran_are_read(tmp_path: Path) -> None:
    path, samples = _two(tmp_path / "run.uff", 0, 101)
    content = path.read_bytes()
    path.write_bytes(content.replace(b"e+0", b"D+0").replace(b"e-0", b"D-0"))

    np.testing.assert_allclose(read_sound(path).samples, samples, rtol=1e-11)


def test_that_other_data_sets_are_passed_over(tmp_path: Path) -> None:
    samples = np.arange(500.0)
    spectrum = _data_set(samples * 1j, func_type=4, abscissa_spec_data_type=18)
    units = pyuff.prepare_164(
        units_code=1, units_description="SI", temp_mode=1, length=1.0, force=1.0, temp=1.0,
        temp_offset=0.0,
    )  # fmt: skip
    path = _write(tmp_path / "run.unv", units, spectrum, _data_set(samples))

    np.testing.assert_array_equal(read_sound(path).samples[:, 0], samples)


def test_that_spectra_alone_are_told(tmp_path: Path) -> None:
    spectrum = _data_set(np.arange(50) * 1j, func_type=4, abscissa_spec_data_type=18)
    with pytest.raises(RecordingError, match="1 data sets of type 58, none of them a real time"):
        describe(_write(tmp_path / "run.uff", spectrum))
    nothing = tmp_path / "nothing.uff"
    nothing.write_bytes(b"    -1\n   151\nName\n    -1\n")
    with pytest.raises(RecordingError, match="with no real time history"):
        describe(nothing)


def test_that_channels_of_different_rates_or_lengths_are_told(tmp_path: Path) -> None:
    slow = _data_set(np.arange(50.0), rate_hz=25_600)
    short = _data_set(np.arange(49.0))
    for number, other in enumerate((slow, short)):
        with pytest.raises(RecordingError, match="2 time histories of different"):
            describe(_write(tmp_path / f"{number}.uff", _data_set(np.arange(50.0)), other))


@pytest.mark.parametrize("binary", [0, 1])
@pytest.mark.parametrize("share", [0.02, 0.3, 0.49, 0.6, 0.9, 0.999])
def test_that_a_file_cut_off_anywhere_is_told(tmp_path, binary: int, share: float) -> None:
    path, _ = _two(tmp_path / "run.uff", binary, 500)
    content = path.read_bytes()
    path.write_bytes(content[: int(len(content) * share)])

    with pytest.raises(RecordingError, match=r"cut off|cannot be read|mark that ends"):
        describe(path)


def test_that_a_word_among_the_samples_is_told(tmp_path: Path) -> None:
    path, _ = _two(tmp_path / "run.uff", 0, 500)
    content = bytearray(path.read_bytes())
    content[3_000:3_004] = b"lost"
    path.write_bytes(content)

    with pytest.raises(RecordingError, match=r"not a number among the samples|cut off"):
        describe(path)


def test_that_no_broken_header_trips_the_reader(tmp_path: Path) -> None:
    generator = np.random.default_rng(2)
    path, _ = _two(tmp_path / "run.uff", 1, 50)
    content = path.read_bytes()
    refused = []
    for _ in range(300):
        broken = bytearray(content)
        for place in generator.integers(0, 950, 3):
            broken[place] = generator.integers(0, 256)
        path.write_bytes(broken)
        try:
            assert describe(path).frames > 0
        except RecordingError as refusal:
            refused.append(refusal.what_happened)
    assert len(refused) > 30
    assert all("'run.uff'" in sentence for sentence in refused)


def test_that_a_unit_in_latin_1_is_read_and_is_no_pressure(tmp_path: Path) -> None:
    path = tmp_path / "run.uff"
    unit = {"ordinate_axis_lab": "Acceleration", "ordinate_axis_units_lab": "m/s2"}
    _write(path, _data_set(np.arange(10.0)) | unit)
    path.write_bytes(path.read_bytes().replace(b"m/s2", "m/s²".encode("latin-1")))

    facts = describe(path)

    assert facts.units == ("m/s²",)
    assert facts.pa_per_full_scale == (None,)


def _motor() -> Path:
    return beside("recordings/electric_motor_vibration_signal.uff")


def test_that_a_file_made_elsewhere_is_read_with_its_unit() -> None:
    facts = describe(_motor())

    assert (facts.container, facts.encoding) == ("UFF 58", "float32")
    assert (facts.sample_rate_hz, facts.frames, facts.units) == (51_200, 181_504, ("m/s²",))
    assert facts.pa_per_full_scale == (None,)
    elsewhere = pyuff.UFF(str(_motor())).read_sets()["data"]
    np.testing.assert_allclose(read_sound(_motor()).samples[:, 0], elsewhere, rtol=1e-7)


@pytest.mark.parametrize("nominal_hz", [1250.0, 2500.0, 4000.0, 10_000.0])
def test_that_the_tones_of_that_file_have_the_levels_told_beside_it(nominal_hz: float) -> None:
    """Third octaves by whoever recorded it; those ruled by a tone do not hang on the filter."""
    sound = read_sound(_motor())
    table = (
        beside("recordings/electric_motor_vibration_3oct.txt").read_text("utf-8").splitlines()[2:]
    )
    told = dict(map(float, line.split()) for line in table)
    power = 2 * np.abs(np.fft.rfft(sound.samples[:, 0])) ** 2 / len(sound.samples) ** 2
    frequency_hz = np.fft.rfftfreq(len(sound.samples), 1 / sound.sample_rate_hz)
    centre_hz = 1000 * 10 ** (round(10 * np.log10(nominal_hz / 1000)) / 10)
    is_inside = np.abs(np.log10(frequency_hz[1:] / centre_hz)) < 0.05

    level = np.sqrt(power[1:][is_inside].sum())

    assert 20 * np.log10(level / told[nominal_hz]) == pytest.approx(0.0, abs=0.1)


def test_that_a_set_whose_beginning_was_overwritten_is_missed(tmp_path: Path) -> None:
    path, _ = _two(tmp_path / "run.uff", 1)
    with open_recording(path) as recording:
        assert recording.channels == 2
    content = path.read_bytes()
    second = content.index(b"    58b", content.index(b"    58b") + 1)
    path.write_bytes(content[: second - 7] + b"x" * 200 + content[second + 193 :])
    with (
        pytest.raises(RecordingError, match="starts like a UFF 58 file and cannot be read"),
        open_recording(path),
    ):
        pass
