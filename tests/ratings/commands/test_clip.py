"""The command from recordings to blind clips and their key, all or nothing."""

import dataclasses
import json
import re
import wave
from pathlib import Path

import numpy as np
import pytest
import soundfile
from studies import raw_database, small_plan, write_noise

from ratings.__main__ import main
from ratings.clips.alike import ClipWish
from ratings.clips.cutting import ClipCut, cut_clip
from ratings.design.study_plan import StudyPlan
from ratings.intake.making import make_study
from ratings.recordings.read import content_hash
from ratings.study.runs import SpeedFile


@pytest.fixture
def sets(tmp_path: Path) -> list[str]:
    """Two recordings of 20 s at different rates, beside their speed traces."""
    generator = np.random.default_rng(4)
    paths = []
    for name, rate_hz, fall in (("first", 44_100, 4.0), ("second", 48_000, 3.2)):
        path = tmp_path / f"{name} set.wav"
        soundfile.write(path, generator.normal(size=(20 * rate_hz, 3)) * 0.05, rate_hz, "PCM_24")
        rows = [f"{t / 10},{100 - fall * t / 10}\n" for t in range(201)]
        path.with_suffix(".csv").write_text("time_s,speed_km_h\n" + "".join(rows), "utf-8")
        paths.append(str(path))
    return paths


def as_json(capsys, arguments: list[str]) -> dict:
    assert main(["clip", *arguments, "--json"]) == 0
    captured = capsys.readouterr()
    assert captured.err == ""
    return json.loads(captured.out)


def traces(sets: list[str]) -> list[str]:
    return [
        word for path in sets for word in ("--speed-trace", str(Path(path).with_suffix(".csv")))
    ]


@pytest.mark.slow
def test_that_sets_are_cut_at_one_speed_and_equally_long(sets, tmp_path, capsys):
    clips, key = tmp_path / "clips", tmp_path / "clips-key.json"
    figures = as_json(capsys, [*sets, "-o", str(clips), "--speed", "95", "50", *traces(sets)])

    # 45 km/h at 4 km/h a second last 11.25 s; the other set still has 59 km/h then.
    assert (figures["length_s"], figures["sample_rate_hz"]) == (11.25, 48_000)
    windows = [(row["start_s"], row["stop_s"]) for row in figures["recordings"]]
    assert windows == [(1.25, 12.5), (1.562, 12.812)]
    speeds = [row["speed_km_h"] for row in figures["recordings"]]
    np.testing.assert_allclose(speeds, [[95, 50], [95, 59]], atol=0.01)
    written = json.loads(key.read_text(encoding="utf-8"))
    assert {entry["recording_name"] for entry in written["clips"]} == {
        Path(path).name for path in sets
    }
    for entry in written["clips"]:
        source, clip = tmp_path / entry["recording_name"], clips / f"{entry['code']}.wav"
        assert entry["recording_hash"] == content_hash(source)
        assert entry["clip_hash"] == content_hash(clip)
        assert (entry["fade_s"], entry["gain_db"], entry["equaliser_id"]) == (0.02, 0.0, "")
        assert entry["loop"]["start_frame"] >= 960
        assert entry["loop"]["stop_frame"] <= entry["frames"] - 960
        with wave.open(str(clip)) as sound:
            assert (sound.getnframes(), sound.getframerate()) == (540_000, 48_000)


@pytest.mark.slow
def test_that_the_clips_and_what_is_told_give_no_set_away(sets, tmp_path, capsys):
    clips = tmp_path / "clips"
    assert main(["clip", *sets, "-o", str(clips), "--length", "5"]) == 0
    told = capsys.readouterr().out

    files = sorted(clips.iterdir())
    assert all(re.fullmatch(r"\d{6}\.wav", file.name) for file in files)
    assert len({(file.stat().st_size, file.stat().st_mtime) for file in files}) == 1
    assert not any(b"set" in file.read_bytes()[:200] for file in files)
    codes = [file.stem for file in files]
    # A line of a code names no recording, and codes stand in their own order.
    lines = [line for line in told.splitlines() if any(code in line for code in codes)]
    assert [line.split()[0] for line in lines] == codes
    assert "set" not in "".join(lines)


@pytest.mark.slow
def test_that_codes_do_not_follow_the_order_of_the_recordings(sets, tmp_path, monkeypatch):
    firsts = []
    for seed in range(4):
        monkeypatch.setattr("secrets.randbits", lambda _, seed=seed: seed)
        folder = str(tmp_path / f"clips{seed}")
        assert main(["clip", *sets, "-o", folder, "--start", "0", "--length", "2"]) == 0
        key = json.loads((tmp_path / f"clips{seed}-key.json").read_text(encoding="utf-8"))
        assert key["seed"] == seed
        firsts.append(key["clips"][0]["recording_name"])
    assert len(set(firsts)) == 2


@pytest.mark.slow
def test_that_the_key_holds_what_cuts_the_same_clip_again(sets, tmp_path, capsys):
    options = ["--start", "3.3", "--length", "2.5", "--gain-db", "-1.5", "--right", "3"]
    as_json(capsys, [*sets, "-o", str(tmp_path / "clips"), *options])

    for entry in json.loads((tmp_path / "clips-key.json").read_text("utf-8"))["clips"]:
        cut = ClipCut(
            entry["left_channel"] - 1,
            entry["right_channel"] - 1,
            *(entry[name] for name in ("start_s", "stop_s", "gain_db", "fade_s")),
        )
        source = tmp_path / entry["recording_name"]
        facts = cut_clip(source, tmp_path / "again.wav", cut, entry["sample_rate_hz"])
        assert facts.content_hash == entry["clip_hash"]


@pytest.mark.slow
def test_that_calibrations_make_the_levels_true(sets, tmp_path, capsys):
    # Both at one rate: with it goes what little sound lies above 20 kHz.
    stretch = ["--start", "3", "--length", "2", "--sample-rate", "48000"]
    window = ["-o", str(tmp_path / "plain"), *stretch]
    plain = [as_json(capsys, [path, *window, "--key", f"{path}.json"]) for path in sets]
    scales = ["--pa-per-full-scale", "2", "--pa-per-full-scale", "8"]
    options = ["-o", str(tmp_path / "true"), *stretch, *scales, "--gain-db", "-6"]
    figures = as_json(capsys, [*sets, *options])

    assert figures["level_true"]
    # 8 Pa at full scale, and 6.0 dB more of it after the gain.
    assert figures["pa_per_full_scale"] == pytest.approx(8 * 10**0.3)
    levels = sorted(row["leq_a_db"] for row in figures["clips"])
    # 2 Pa are 100 dB re 20 uPa, and 8 Pa are 112.04 dB.
    expected = sorted(
        before["clips"][0]["leq_a_db"] + scale_db
        for before, scale_db in zip(plain, (100.0, 112.0412), strict=True)
    )
    assert not plain[0]["level_true"]
    np.testing.assert_allclose(levels, expected, atol=0.001)


def test_that_a_measurement_file_brings_its_own_calibration(tmp_path, capsys):
    h5py = pytest.importorskip("h5py")
    time_s = np.arange(4 * 48_000) / 48_000
    tone_pa = 2.0 * np.sqrt(2) * np.sin(2 * np.pi * 1000 * time_s)
    path = tmp_path / "run.h5"
    with h5py.File(path, "w") as file:
        file["pressure"] = np.column_stack([tone_pa, tone_pa])
        file["sample_rate_hz"] = 48_000
        file["unit"] = "Pa"
    options = ["--start", "1", "--length", "2", "--fade-ms", "0"]

    figures = as_json(capsys, [str(path), "-o", str(tmp_path / "clips"), *options])
    lowered = [*options, "--gain-db", "-20"]
    quieter = as_json(capsys, [str(path), "-o", str(tmp_path / "quieter"), *lowered])

    # 2.83 Pa at the peak are 9.03 dB re 1 Pa; with 1 dB of room the next whole decibel is 11.
    assert figures["pa_per_full_scale"] == pytest.approx(10 ** (11 / 20))
    assert quieter["pa_per_full_scale"] == pytest.approx(10 ** (31 / 20))
    # 2 Pa rms are 100 dB; A-weighting leaves 1 kHz alone.
    for each in (figures, quieter):
        assert each["clips"][0]["leq_a_db"] == pytest.approx(100.0, abs=0.02)

    plain = tmp_path / "run.wav"
    soundfile.write(plain, np.column_stack([tone_pa, tone_pa]) / 4, 48_000)
    assert main(["clip", str(path), str(plain), "-o", str(tmp_path / "mixed"), *options]) == 2
    assert "levels cannot be compared" in capsys.readouterr().err


@pytest.mark.slow
def test_that_clips_may_end_at_their_loop(sets, tmp_path, capsys):
    whole = ["--speed", "95", "50", *traces(sets), "--fade-ms", "0"]
    loop = as_json(capsys, [*sets, "-o", str(tmp_path / "whole"), *whole])["loop"]
    trimmed = [*whole[:-2], "--trim-to-loop"]
    figures = as_json(capsys, [*sets, "-o", str(tmp_path / "trimmed"), *trimmed])

    frames = loop["stop_frame"] - loop["start_frame"]
    assert (figures["loop"]["start_frame"], figures["loop"]["stop_frame"]) == (0, frames)
    assert figures["loop"]["seam_db"] == loop["seam_db"]
    assert figures["frames"] == frames
    assert figures["recordings"][0]["start_s"] == pytest.approx(1.25 + loop["start_s"], abs=1e-4)
    samples = {}
    for name in ("whole", "trimmed"):
        for entry in json.loads((tmp_path / f"{name}-key.json").read_text("utf-8"))["clips"]:
            clip = tmp_path / name / f"{entry['code']}.wav"
            samples[name, entry["recording_name"]] = soundfile.read(clip, dtype="int32")[0]
    for path in sets:
        name = Path(path).name
        inside = samples["whole", name][loop["start_frame"] : loop["stop_frame"]]
        np.testing.assert_array_equal(samples["trimmed", name], inside)


def test_that_a_clip_without_fade_is_the_recording_itself(sets, tmp_path, capsys):
    options = ["--start", "3.5", "--stop", "6", "--left", "3", "--fade-ms", "0"]
    as_json(capsys, [sets[1], "-o", str(tmp_path / "clips"), *options])

    (clip,) = (tmp_path / "clips").iterdir()
    expected = soundfile.read(sets[1], dtype="int32")[0][168_000:288_000, [2, 2]]
    np.testing.assert_array_equal(soundfile.read(clip, dtype="int32")[0], expected)


@pytest.mark.slow
def test_that_gain_and_equaliser_reach_all_clips(sets, tmp_path, capsys):
    taps = tmp_path / "fir.csv"
    taps.write_text("0\n0.5\n0\n", encoding="utf-8")
    window = ["--start", "3", "--length", "4", "--sample-rate", "44100"]
    plain = as_json(capsys, [sets[0], "-o", str(tmp_path / "plain"), *window])
    options = [*window, "--gain-db", "-3", "--equaliser", str(taps)]
    changed = as_json(capsys, [sets[0], "-o", str(tmp_path / "changed"), *options])

    level = "leq_a_db"
    # 20 log10(0.5) - 3 dB.
    assert changed["clips"][0][level] - plain["clips"][0][level] == pytest.approx(-9.0206, abs=1e-3)
    assert changed["sample_rate_hz"] == 44_100
    key = json.loads((tmp_path / "changed-key.json").read_text(encoding="utf-8"))
    assert key["clips"][0]["equaliser_id"] == content_hash(taps)


@pytest.mark.slow
def test_that_the_speed_may_be_in_a_channel(tmp_path, capsys):
    time_s = np.arange(20 * 48_000) / 48_000
    noise = np.random.default_rng(1).normal(size=(len(time_s), 2)) * 0.05
    samples = np.column_stack([noise, (100 - 4 * time_s) / 250])
    path = tmp_path / "run.wav"
    soundfile.write(path, samples, 48_000, "PCM_24")
    options = ["--speed", "95", "70", "--speed-channel", "3", "--kmh-per-unit", "250"]

    figures = as_json(capsys, [str(path), "-o", str(tmp_path / "clips"), *options])

    assert figures["recordings"][0]["start_s"] == pytest.approx(1.25, abs=0.002)
    assert figures["length_s"] == pytest.approx(6.25, abs=0.002)


@pytest.mark.slow
def test_that_equal_speeds_ask_for_the_steady_stretch(tmp_path, capsys):
    path, log = tmp_path / "run.wav", tmp_path / "run.csv"
    noise = np.random.default_rng(1).normal(size=(20 * 48_000, 2)) * 0.05
    soundfile.write(path, noise, 48_000, "PCM_24")
    speeds = [80.0 if 4 <= second <= 17 else 77.0 for second in range(21)]
    rows = "".join(f"{second},{speed}\n" for second, speed in enumerate(speeds))
    log.write_text("time_s,speed_km_h\n" + rows, encoding="utf-8")
    options = ["--speed", "80", "80", "--speed-trace", str(log), "--speed-offset", "0.5"]

    figures = as_json(capsys, [str(path), "-o", str(tmp_path / "clips"), *options])

    # Held from 4.5 to 17.5 s of the recording: the middle 8 s.
    window = figures["recordings"][0]
    assert (window["start_s"], window["stop_s"]) == (7.0, 15.0)


def test_that_a_short_clip_has_no_loop_and_says_so(sets, tmp_path, capsys):
    options = ["--start", "0", "--length", "1"]
    assert main(["clip", sets[1], "-o", str(tmp_path / "clips"), *options]) == 0
    assert "No loop: 0.96 s are too short" in capsys.readouterr().out


@pytest.mark.parametrize(("length_s", "least_s"), [(4.5, 2.7), (5.9, 3.54), (6.5, 5.0), (8.0, 5.0)])
def test_that_a_loop_keeps_five_seconds_or_most_of_a_stretch_that_is_asked_for(length_s, least_s):
    for wish in (ClipWish(length_s=length_s), ClipWish(ends_s=(1.0, 1.0 + length_s))):
        assert wish.least_loop_s(length_s) == pytest.approx(least_s)
    # What a study takes is not asked for.
    assert ClipWish().least_loop_s(length_s) == 5.0


def test_that_a_short_clip_that_is_asked_for_has_its_loop(sets, tmp_path, capsys):
    options = ["--start", "0", "--length", "4.5"]
    loop = as_json(capsys, [sets[1], "-o", str(tmp_path / "clips"), *options])["loop"]
    assert 2.7 <= loop["stop_s"] - loop["start_s"] < 4.5


def with_a_gap(path: str, at_s: float) -> None:
    samples, rate_hz = soundfile.read(path)
    samples[round(at_s * rate_hz) : round((at_s + 0.02) * rate_hz)] = 0.0
    soundfile.write(path, samples, rate_hz, "PCM_24")


@pytest.mark.slow
def test_that_clips_lie_beside_lost_signal_where_there_is_room(sets, tmp_path, capsys):
    with_a_gap(sets[1], 9.0)
    figures = as_json(capsys, [*sets, "-o", str(tmp_path / "clips"), "--fade-ms", "0"])

    windows = {(row["start_s"], row["stop_s"]) for row in figures["recordings"]}
    # 50 ms are kept to the gap.
    assert windows == {(9.07, 17.07)}
    for row in figures["recordings"]:
        assert "window beside lost signal in one of the recordings" in row["remarks"]


def test_that_a_gap_without_room_beside_it_is_cut_only_when_the_stretch_is_named(
    sets, tmp_path, capsys
):
    with_a_gap(sets[1], 5.0)
    call = ["clip", sets[1], "-o", str(tmp_path / "clips"), "--length", "19"]
    # 5 s are the least that stays of a steady window; a passage keeps its whole length.
    passage = ["--speed", "99", "45", "--speed-trace", str(Path(sets[1]).with_suffix(".csv"))]
    assert main([*call[:-2], *passage]) == 2
    told = capsys.readouterr().err
    assert "The signal is lost within the clip: 'second set.wav' at 5.00 s." in told
    assert "one that is named by --start is cut as it is" in told
    assert not (tmp_path / "clips").exists()

    assert main([*call, "--start", "0.5"]) == 0
    assert "left ear: the signal is lost at 5.00 s" in capsys.readouterr().out


SPEED = ["--speed", "95", "50"]


@pytest.mark.slow
@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (["--start", "19", "--stop", "22"], "lasts 20.000 s"),
        (["--start", "1", "--stop", "22", "--length", "3"], "not all three"),
        (["--stop", "22"], "--stop needs --start"),
        (["--start", "1", "--stop", "1.5"], "shorter than 1 s"),
        (["--left", "4"], "has no channel 4; it has 3"),
        (["--left", "0"], "has no channel 0"),
        (["--gain-db", "40"], "would exceed full scale by"),
        ([*SPEED, "--speed-channel", "3", "--kmh-per-unit", "300"], "'first set.wav': The speed"),
        (["--fade-ms", "-1"], "fade of -0.001 s"),
        (["--gain-db", "nan"], '--gain-db: "nan" is not a number'),
        (["--pa-per-full-scale", "0"], "from 1e-09 to 1e+06"),
        (["--pa-per-full-scale", "2"] * 3, "2 recordings and 3 calibrations"),
        (["--trim-to-loop", "--fade-ms", "20"], "have no fades"),
        (["--trim-to-loop", "--length", "2", "--stop", "1", "--start", "0"], "not all three"),
        (["--trim-to-loop", "--stop", "1", "--start", "0"], "too short to find a loop"),
        (["--sample-rate", "12"], "cannot be written at 12 Hz"),
        (["--equaliser", "no.wav"], "There is no file 'no.wav'"),
        (SPEED, "--speed needs --speed-trace"),
        ([*SPEED, "--start", "1"], "not both"),
        ([*SPEED, "--speed-trace", "a.csv"], "2 recordings and 1 speed traces"),
        ([*SPEED, "--speed-channel", "1"], "needs --kmh-per-unit"),
        ([*SPEED, "--speed-trace", "a.csv", "--kmh-per-unit", "3"], "needs --speed-channel"),
        (["--speed-trace", "a.csv"], "A speed trace needs --speed"),
        (["--speed-offset", "1"], "A speed trace needs --speed"),
        ([*SPEED, "--speed-offset", "1", "--speed-offset", "1", "--speed-offset", "1",
          "--speed-channel", "1"], "once, or once for each recording"),
        (["--key", "clips/key.json"], "would lie among the clips"),
        (["--key", "no folder/key.json"], "The key 'key.json' cannot be written"),
        (["--key", "first set.csv"], "There is a key 'first set.csv' already"),
        (["-o", "no/clips"], "cannot be made: no such file or directory"),
        (["-o", "first set.csv"], "cannot be made: file exists"),
    ],
)  # fmt: skip
def test_that_a_wrong_call_is_one_sentence_and_leaves_nothing(
    sets, tmp_path, capsys, monkeypatch, options, sentence
):
    monkeypatch.chdir(tmp_path)
    before = sorted(path.name for path in tmp_path.rglob("*"))

    assert main(["clip", *sets, "-o", "clips", *options]) == 2

    captured = capsys.readouterr()
    assert captured.out == ""
    assert sentence in captured.err
    assert captured.err.count("\n") == 1
    assert sorted(path.name for path in tmp_path.rglob("*")) == before


def test_that_a_failure_at_the_second_set_leaves_nothing_of_the_first(sets, tmp_path, capsys):
    broken = tmp_path / "broken.wav"
    broken.write_bytes(Path(sets[1]).read_bytes()[:100_000])

    assert main(["clip", sets[0], str(broken), "-o", str(tmp_path / "clips")]) == 2

    assert "'broken.wav' was cut off" in capsys.readouterr().err
    assert not (tmp_path / "clips").exists()


@pytest.mark.slow
def test_that_clips_and_keys_of_before_are_never_overwritten(sets, tmp_path, capsys):
    call = ["clip", *sets, "-o", str(tmp_path / "clips"), "--start", "0", "--length", "2"]
    assert main(call) == 0
    kept = {file.name: file.read_bytes() for file in (tmp_path / "clips").iterdir()}
    assert main(call) == 2
    assert "There is a key 'clips-key.json' already" in capsys.readouterr().err
    assert main([*call, "--key", str(tmp_path / "second.json")]) == 0

    after = {file.name: file.read_bytes() for file in (tmp_path / "clips").iterdir()}
    assert len(after) == 4
    assert kept.items() <= after.items()


@pytest.mark.slow
def test_that_the_way_to_the_run_is_not_searched_for_a_steady_stretch(
    sets, tmp_path, capsys
) -> None:
    # Steady for a minute before the recorder starts and for 8 s of it: only these 8 s can be cut.
    trace = tmp_path / "speed.csv"
    rows = [f"{t},{80 if t <= 8 else 80 - 3 * (t - 8)}\n" for t in range(-60, 21)]
    trace.write_text("time_s,speed_km_h\n" + "".join(rows), "utf-8")
    found = as_json(
        capsys,
        [sets[0], "-o", str(tmp_path / "clips"), "--speed", "80", "80",
         "--speed-trace", str(trace)],
    )  # fmt: skip
    (row,) = found["recordings"]
    assert (row["start_s"], row["stop_s"]) == (0.0, 8.0)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (["-o", ""], "the name is empty"),
        (["-o", "/"], "Nothing can lie beside '/'"),
        (["-o", "clips", "--sample-rate", "0"], "cannot be written at 0 Hz"),
        (["-o", "clips", "--length", "inf"], '"inf" is not a number'),
        (["-o", "clips", "--gain-db", "1e9"], "A gain of 1e+09 dB is not possible"),
    ],
)
def test_that_slips_in_a_script_are_one_sentence(
    sets, tmp_path, capsys, monkeypatch, options, sentence
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["clip", sets[0], *options]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert sentence in captured.err
    assert captured.err.count("\n") == 1
    assert not (tmp_path / "clips").exists()


@pytest.mark.slow
def test_that_a_folder_with_a_line_end_in_its_name_is_told_on_one_line(
    sets, tmp_path, capsys
) -> None:
    folder = tmp_path / "day\n2"
    assert main(["clip", sets[0], "-o", str(folder)]) == 0
    assert r"day\n2" in capsys.readouterr().out.splitlines()[0]


def plan_and_call(folder: Path, conditions: int) -> tuple[StudyPlan, list[str]]:
    """Plan a study and give the call that cuts the clips of its last condition."""
    plan = small_plan(folder, sets=3, conditions=conditions, clip_gain_db=-2.0)
    runs, files, options = [], [], ["--trim-to-loop", "--gain-db", "-2"]
    for number, each in enumerate(plan.recordings):
        write_noise(each.path, 50 + number, 14.0)
        factor, speed = 21.0 - each.set_id, None
        if each.condition_id == 2:
            log = each.path.with_suffix(".csv")
            log.write_text(f"time_s,speed_km_h\n0,{83 + number}\n14,{30 - number}\n", "utf-8")
            speed = SpeedFile(log)
            options += ["--speed-trace", str(log)]
        if each.condition_id == conditions:
            files.append(str(each.path))
            options += ["--pa-per-full-scale", str(factor)]
        runs.append(dataclasses.replace(each, pa_per_full_scale=factor, speed=speed))
    options += ["--speed", "80", "40"] if conditions == 2 else []
    return dataclasses.replace(plan, recordings=tuple(runs)), files + options


@pytest.mark.slow
@pytest.mark.parametrize(("conditions", "gap_s"), [(1, None), (1, 8.0), (2, None)])
def test_that_the_command_cuts_what_a_study_of_the_same_files_cuts(
    tmp_path, capsys, conditions, gap_s
):
    plan, call = plan_and_call(tmp_path / "in", conditions)
    if gap_s is not None:
        with_a_gap(str(plan.recordings[1].path), gap_s)

    figures = as_json(capsys, [*call, "-o", str(tmp_path / "clips")])
    study = make_study(tmp_path / "study", plan)
    study.close()

    database = raw_database(study.folder)
    rows = database.execute(
        "SELECT DISTINCT original_name, start_s, stop_s, gain_db, clip.pa_per_full_scale "
        "FROM clip JOIN clip_source USING (clip_id) JOIN recording USING (recording_id) "
        "WHERE recording.condition_id = ?",
        (conditions,),
    ).fetchall()
    database.close()
    key = json.loads((tmp_path / "clips-key.json").read_text(encoding="utf-8"))
    names = ("recording_name", "start_s", "stop_s", "gain_db")
    assert len(rows) == 3
    assert set(rows) == {
        (*(entry[name] for name in names), key["pa_per_full_scale"]) for entry in key["clips"]
    }
    # At a loop, and not where the windows end: 8 s by time, 40 of 63 km/h in 14 s by speed.
    assert 5.0 <= figures["length_s"] < (8.0 if conditions == 1 else 8.8)
    assert figures["loop"]["stop_frame"] == figures["frames"]
