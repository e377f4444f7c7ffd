"""The command from file to figures, and what it says when something is wrong."""

import json
import math
from pathlib import Path

import numpy as np
import pytest
import soundfile
from annex_signals import RATE_HZ, made_signal
from known_recordings import FULL_SCALE_PA, noise_pa, tone_pa
from reference_data import beside, copied

from ratings.__main__ import main

#: Full scale of the files of ISO 532-1, annex B: a sine of 100 dB re 20 uPa.
ANNEX_PA_PER_FULL_SCALE = 2 * math.sqrt(2)
ANNEX = copied("acoustics/iso532_annex_b")["signals"]


@pytest.fixture
def tone_file(tmp_path: Path) -> Path:
    """A minute short of nothing: 94 dB at 1 kHz, as a calibrator gives it, for 8 s."""
    path = tmp_path / "tone.wav"
    soundfile.write(path, tone_pa(1000, 94, 8, 48_000) / FULL_SCALE_PA, 48_000, subtype="PCM_24")
    return path


@pytest.fixture
def run_file(tmp_path: Path) -> Path:
    path = tmp_path / "run.wav"
    channels = [noise_pa(level, 6, 48_000, seed=level) for level in (60, 66)]
    soundfile.write(path, np.stack(channels, axis=1) / FULL_SCALE_PA, 48_000, subtype="PCM_24")
    return path


def figures(capsys, *arguments) -> dict:
    assert main(["measure", *map(str, arguments), "--json"]) == 0
    captured = capsys.readouterr()
    assert captured.err == ""
    return json.loads(captured.out)


def refusal(capsys, *arguments) -> str:
    assert main(["measure", *map(str, arguments)]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.count("\n") == 1
    return captured.err


@pytest.mark.slow
def test_that_the_figures_have_the_names_of_the_contract(run_file, capsys) -> None:
    found = figures(
        capsys, run_file, "--pa-per-full-scale", FULL_SCALE_PA, "--tyre", "205/55R16",
        "--speed-kmh", "80", "--pitches", "64", "--air-c", "25", "--field", "diffuse",
    )  # fmt: skip
    assert found["file"] == "run.wav"
    assert (found["sample_rate_hz"], found["duration_s"]) == (48_000, 6)
    assert [channel["channel"] for channel in found["channels"]] == [1, 2]
    first = found["channels"][0]
    assert first["level_true"] is True
    assert first["leq_db"] == pytest.approx(60, abs=0.1)
    plain = {"leq_db", "third_octave_db", "bands_db"}
    assert plain < set(first["unweighted"])
    assert {name.partition(".")[0] for name in first["unweighted"]} <= set(first)
    assert set(first["bands_db"]) == {
        "boom",
        "structure_borne",
        "cavity",
        "airborne",
        "pattern",
        "hiss",
    }
    assert {"20", "31.5", "1000", "12500"} <= set(first["third_octave_db"])
    loudnesses = {"n_sone", "n5_sone", "n10_sone", "n50_sone", "n90_sone", "nmax_sone"}
    assert set(first["loudness"]) == {"field", *loudnesses}
    assert (first["loudness"]["field"], first["sharpness_field"]) == ("diffuse", "diffuse")
    for weighting in ("fast", "slow"):
        exceeded_db = first[f"{weighting}_exceeded_a_db"]
        assert list(exceeded_db) == ["l5", "l10", "l50", "l90", "l95"]
        assert first[f"{weighting}_max_a_db"] >= max(exceeded_db.values())
        assert sorted(exceeded_db.values(), reverse=True) == list(exceeded_db.values())
    assert first["loudness"]["field"] == "diffuse"
    assert first["loudness"]["nmax_sone"] >= first["loudness"]["n5_sone"] > 5
    assert first["sharpness_acum"] > 1
    assert first["roughness_asper"] > 0
    assert first["tones"] == []
    assert set(first["cavity_line"]) >= {"predicted_hz", "found_hz", "height_db"}
    assert len(first["cavity_line"]["predicted_hz"]) == 2
    assert first["cavity_line"]["found_hz"] is None
    assert [order["harmonic"] for order in first["pattern_orders"]] == [1, 2, 3]


def test_that_without_calibration_hearing_is_null_and_said(run_file, capsys) -> None:
    found = figures(capsys, run_file)
    for channel in found["channels"]:
        assert channel["level_true"] is False
        assert channel["loudness"] is None
        assert channel["sharpness_acum"] is None
        assert channel["roughness_asper"] is None
        assert channel["leq_a_db"] < 0
    assert any("Not calibrated" in remark["sentence"] for remark in found["remarks"])


@pytest.mark.slow
def test_that_a_tone_calibrates_every_channel(run_file, tone_file, capsys) -> None:
    by_tone = figures(capsys, run_file, "--tone", tone_file, "--tone-db", 94)
    by_factor = figures(capsys, run_file, "--pa-per-full-scale", FULL_SCALE_PA)
    for one, other in zip(by_tone["channels"], by_factor["channels"], strict=True):
        assert one["leq_a_db"] == pytest.approx(other["leq_a_db"], abs=0.002)


def test_that_tones_too_far_apart_are_refused(run_file, tone_file, tmp_path, capsys) -> None:
    samples, rate_hz = soundfile.read(tone_file)
    after = tmp_path / "after.wav"
    soundfile.write(after, samples * 10 ** (0.6 / 20), rate_hz, subtype="PCM_24")
    assert "0.60 dB" in refusal(capsys, run_file, "--tone", tone_file, "--tone-after", after)


def test_that_one_channel_can_be_chosen(run_file, capsys) -> None:
    (channel,) = figures(capsys, run_file, "--channel", 2)["channels"]
    assert channel["channel"] == 2


def test_that_silence_is_null_not_a_number_that_json_lacks(tmp_path, capsys) -> None:
    path = tmp_path / "silent.wav"
    soundfile.write(path, np.zeros((96_000, 1)), 48_000, subtype="PCM_16")
    (channel,) = figures(capsys, path, "--pa-per-full-scale", 1)["channels"]
    assert channel["leq_a_db"] is None
    assert channel["loudness"]["n_sone"] == 0
    assert channel["sharpness_acum"] is None


def test_that_a_speed_trace_is_read(tmp_path, run_file, capsys) -> None:
    trace = tmp_path / "speed.csv"
    trace.write_text("time_s,speed_km_h\n0,80\n3,80.2\n6,79.9\n", encoding="utf-8")
    found = figures(
        capsys, run_file, "--speed-trace", trace, "--tyre", "205/55R16", "--pitches", 70
    )
    first = found["channels"][0]["pattern_orders"][0]
    # 70 pitches at 80 km/h: 808 Hz, rough to 5 % (trade notes, 2.4).
    assert first["hz"] == pytest.approx(808, rel=0.05)


def test_that_the_text_names_figures_with_units(run_file, capsys) -> None:
    assert main(["measure", str(run_file), "--pa-per-full-scale", str(FULL_SCALE_PA)]) == 0
    text = capsys.readouterr().out
    for words in (
        "loudness N, diffuse field (sone)",
        "third octave 1000 Hz",
        "none found",
        "20 Pa per full",
    ):
        assert words in text


def test_that_the_text_of_mixed_channels_says_which_are_level_true(tmp_path, capsys) -> None:
    import h5py

    path = tmp_path / "run.h5"
    with h5py.File(path, "w") as file:
        dataset = file.create_dataset("pressure", data=noise_pa(60, 3, 48_000))
        dataset.attrs["unit"] = "Pa"
        dataset.attrs["sample_rate_hz"] = 48_000.0
    (channel,) = figures(capsys, path)["channels"]
    assert channel["level_true"] is True
    assert channel["leq_db"] == pytest.approx(60, abs=0.1)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--channel", "3"], "no channel 3"),
        (["--channel", "0"], "no channel 0"),
        (["--pa-per-full-scale", "0"], "0 is not a valid Pa"),
        (["--pa-per-full-scale", "nan"], "is not a number"),
        (["--tyre", "large"], "cannot be read"),
        (["--speed-kmh", "-5"], "not a valid speed"),
        (["--pitches", "0", "--tyre", "205/55R16", "--speed-kmh", "80"], "pitches"),
        (["--air-c", "900"], "900 C"),
        (["--tone", "missing.wav"], "missing.wav"),
        (["--tone-after", "missing.wav"], "before"),
        (["--speed-trace", "missing.csv"], "missing.csv"),
        (["--field", "far"], "--field"),
        (["--pa-per-full-scale", "20", "--tone", "x.wav"], "not allowed"),
    ],
)
def test_that_senseless_options_get_one_sentence(run_file, capsys, arguments, words) -> None:
    assert words in refusal(capsys, run_file, *arguments)


def broken(folder: Path) -> list[Path]:
    whole = folder / "whole.wav"
    soundfile.write(whole, noise_pa(60, 1, 8_000) / FULL_SCALE_PA, 8_000, subtype="PCM_16")
    content = whole.read_bytes()
    files = {
        "empty.wav": b"",
        "headerless.wav": content[44:],
        "cut_off.wav": content[:4000],
        "text.wav": b"time;pressure\n0;1\n",
        "one_sample.wav": None,
        "not_numbers.wav": None,
        "many_channels.wav": None,
    }
    for name, bytes_ in files.items():
        if bytes_ is not None:
            (folder / name).write_bytes(bytes_)
    soundfile.write(folder / "one_sample.wav", np.zeros((1, 1)), 8_000, subtype="PCM_16")
    nan = np.full((8_000, 1), np.nan)
    soundfile.write(folder / "not_numbers.wav", nan, 8_000, subtype="FLOAT")
    soundfile.write(folder / "many_channels.wav", np.zeros((100, 500)), 8_000, subtype="PCM_16")
    return [folder / name for name in files]


def test_that_every_broken_file_gets_one_sentence_and_no_figure(tmp_path, capsys) -> None:
    for path in broken(tmp_path):
        assert path.name in refusal(capsys, path, "--json"), path


def test_that_files_nobody_here_made_are_measured_or_refused(capsys) -> None:
    folder = beside("recordings")
    for name in ("skid_tyres.wav", "rain.ogg", "aircraft_recording.wav"):
        (channel, *_) = figures(capsys, folder / name)["channels"]
        assert math.isfinite(channel["leq_a_db"])
    (vibration,) = figures(capsys, folder / "electric_motor_vibration_signal.uff")["channels"]
    assert vibration["level_true"] is False
    assert "locked_BROKEN" in refusal(capsys, folder / "locked_BROKEN-headerless.wav")


def assert_inside_the_standards_tolerance(capsys, path: Path, number: int) -> None:
    """Compare what the command says of a file with the annex; 5 % or 0.1 sone are allowed.

    The published N5 leave out the start, and of some signals the end; the command does not.
    """
    wanted = ANNEX[str(number)]
    scale = ("--pa-per-full-scale", ANNEX_PA_PER_FULL_SCALE)
    # The standard's own signals are for a free field unless they say otherwise.
    found = figures(capsys, path, *scale, "--field", wanted.get("field", "free"))
    for name in ("n_sone",) if "n_sone" in wanted else ("n5_sone", "nmax_sone"):
        tolerance = max(0.05 * wanted[name], 0.1)
        assert found["channels"][0]["loudness"][name] == pytest.approx(wanted[name], abs=tolerance)


@pytest.mark.parametrize("number", [3, 5, 9, 10])
def test_that_made_annex_signals_come_out_of_the_command_inside_the_standards_tolerance(
    tmp_path, capsys, number
) -> None:
    # A tone, pink noise, noise that rises, and a pulse; the other made ones are heard in the
    # tests of the meter.
    path = tmp_path / "signal.wav"
    samples = made_signal(number) / ANNEX_PA_PER_FULL_SCALE
    soundfile.write(path, samples, RATE_HZ, subtype="PCM_16")
    assert_inside_the_standards_tolerance(capsys, path, number)


@pytest.mark.slow
def test_that_the_annex_signals_come_out_of_the_command_inside_the_standards_tolerance(
    capsys,
) -> None:
    for path in sorted(beside("acoustics/iso532-1").glob("*.wav")):
        assert_inside_the_standards_tolerance(capsys, path, int(path.name.split()[2]))


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--tone-db", "94"], "of a tone needs --tone"),
        (["--tone-hz", "250"], "of a tone needs --tone"),
        (["--speed-offset", "3"], "needs --speed-trace"),
        (["--speed-kmh", "inf"], '"inf" is not a number'),
    ],
)
def test_that_an_option_without_effect_is_refused(run_file, capsys, arguments, words) -> None:
    assert words in refusal(capsys, run_file, *arguments)


def test_that_a_trace_by_the_clock_is_shifted_to_the_recording(run_file, tmp_path, capsys) -> None:
    trace = tmp_path / "speed.csv"
    trace.write_text("time_s;speed_km_h\n40000,5;80,5\n40007;80,5\n", encoding="utf-8")
    tyre = ("--tyre", "205/55R16", "--speed-trace", trace)
    assert "40000.5 to 40007.0 s" in refusal(capsys, run_file, *tyre)
    found = figures(capsys, run_file, *tyre, "--speed-offset", "-40000.5")
    given = figures(capsys, run_file, "--tyre", "205/55R16", "--speed-kmh", "80.5")
    predicted = [each["channels"][0]["cavity_line"]["predicted_hz"] for each in (found, given)]
    assert predicted[0] == pytest.approx(predicted[1])
    assert len(predicted[0]) == 2


def test_that_a_pistonphone_calibrates_the_one_channel_asked_for(
    run_file, tmp_path, capsys
) -> None:
    path = tmp_path / "piston.wav"
    channels = [noise_pa(30, 6, 48_000), tone_pa(250, 114, 6, 48_000)]
    soundfile.write(path, np.stack(channels, axis=1) / FULL_SCALE_PA, 48_000, subtype="PCM_24")
    tone = ("--tone", path, "--tone-db", "114", "--tone-hz", "250")
    (channel,) = figures(capsys, run_file, "--channel", "2", *tone)["channels"]
    assert channel["leq_db"] == pytest.approx(66, abs=0.1)
    assert "channel 1" in refusal(capsys, run_file, *tone)


def test_that_what_is_odd_about_the_tone_is_among_the_remarks(run_file, tmp_path, capsys) -> None:
    path = tmp_path / "tone.wav"
    loud, soft = tone_pa(1000, 94, 6, 48_000), tone_pa(1000, 84, 3, 48_000)
    soundfile.write(path, np.concatenate([loud, soft]) / FULL_SCALE_PA, 48_000, subtype="PCM_24")
    first = figures(capsys, run_file, "--tone", path)["remarks"][0]
    assert (first["severity"], first["channel"]) == ("doubtful", None)
    assert "also holds a tone -10.0 dB" in first["sentence"]


def test_that_a_pattern_order_is_read_where_it_stands_out_and_only_there(tmp_path, capsys) -> None:
    # 64 pitches at 80 km/h on 3.05 x 631.9 mm: 738 Hz (trade formula, C = 3.05 D). The tread is
    # worn by 1 %, and only the first channel has the order.
    path = tmp_path / "run.wav"
    noise = [noise_pa(level, 8, 16_000, seed=level) for level in (60, 66)]
    noise[0] += tone_pa(1.01 * 737.9, 68.0, 8, 16_000)
    soundfile.write(path, np.stack(noise, axis=1) / FULL_SCALE_PA, 16_000, subtype="PCM_24")
    arguments = [path, "--tyre", "205/55R16", "--pitches", "64", "--speed-kmh", "80"]
    arguments += ["--pa-per-full-scale", FULL_SCALE_PA]
    first, second = (each["pattern_orders"][0] for each in figures(capsys, *arguments)["channels"])
    assert first["hz"] == pytest.approx(737.9, abs=0.5)
    assert first["found_hz"] == pytest.approx(1.01 * 737.9, abs=0.5)
    assert first["slip_percent"] == pytest.approx(1.0, abs=0.05)
    assert first["level_db"] == pytest.approx(68.0, abs=0.1)
    assert (second["stands_out"], second["level_db"], second["slip_percent"]) == (False, None, None)
    assert main(["measure", *map(str, arguments)]) == 0
    text = capsys.readouterr().out
    (row,) = [n for n, line in enumerate(text.splitlines()) if "pattern order 1, " in line]
    order, above, slip = text.splitlines()[row : row + 3]
    assert order.split("unweighted")[1].split() == ["68.0", "does", "not", "stand", "out"]
    assert above.split()[:3] == ["above", "its", "neighbours"]
    assert slip.split()[-2:] == ["1.0", "-"]
    assert "Pattern order 1 lies 1.0 % above where it is expected" in text
