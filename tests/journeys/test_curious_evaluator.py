"""A curious evaluator searches everything that a seat's account can read for what a side is.

The study is made by the library from sets that differ strongly: levels 6 dB apart, recorders of
16 and 24 bits, calibrations a third apart. A seat is played through. Then only what lies outside of
the folder `lead` is read, with the tools that everybody has.

What the attacks found in a study of format 2: names, hashes and levels of the originals in tables,
the null pair by `clip_a = clip_b`, the control by a count, the recorder by the low byte; and the
31 bits of the seed, tried against the file names alone: 2^31 draws of twelve codes take 55 h on one
core, measured at 93 us for one.
"""

import dataclasses
import hashlib
import itertools
import shutil
import sqlite3
from collections import Counter, defaultdict
from pathlib import Path

import numpy as np
import pytest
import soundfile
from studies import Clock, rate_pair, raw_database, small_plan

from app.main import told_defect
from ratings.clips.study_clips import clip_places
from ratings.design.orders import blind_codes
from ratings.design.streams import stream
from ratings.intake.making import make_study
from ratings.recordings.read import content_hash
from ratings.storage.blind_study import StudyFolder, open_blind_study
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.recording_desk import RecordingDesk
from ratings.storage.seat_desk import SeatDesk
from ratings.study.figures import Figure

OLD_STUDIES = Path(__file__).resolve().parents[1] / "ratings" / "storage" / "old_studies"
RATE_HZ = 8000
SEED = 0xF5EED_0F_128_B175_D1CE_BA5E_0F_A11_C0DE
SETS, CONDITIONS = 3, 2
NAMES = ("Maple", "Birch", "Larch")
#: By set: rms re full scale, bits of the recorder, pascal per full scale.
RECORDED = {1: (0.05, "PCM_16", 20.0), 2: (0.025, "PCM_24", 15.0), 3: (0.1, "PCM_16", 11.0)}


def written(recording):
    """Write one recording as its set's recorder would."""
    rms, subtype, _ = RECORDED[recording.set_id]
    rng = np.random.default_rng([recording.set_id, recording.condition_id])
    samples = np.clip(rms * rng.standard_normal((round(2.5 * RATE_HZ), 2)), -0.99, 0.99)
    soundfile.write(recording.path, samples, RATE_HZ, subtype=subtype)
    return dataclasses.replace(recording, pa_per_full_scale=RECORDED[recording.set_id][2])


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    """Make a study, play a seat of it through, measure a run; return its folder."""
    place = tmp_path_factory.mktemp("curious")
    plan = small_plan(place / "in", sets=SETS, conditions=CONDITIONS, seed=SEED)
    plan = dataclasses.replace(plan, recordings=tuple(written(each) for each in plan.recordings))
    study = make_study(place / "study", plan, clock=Clock())
    desk, figure = RecordingDesk(study), Figure("1", "leq_a", "dB", 61.0)
    desk.keep_measurement(desk.runs()[0].recording_id, [figure], [], {}, {}, 1)
    LeadDesk(study).seat("Cy")
    study.close()
    blind = open_blind_study(place / "study")
    SeatDesk(blind, Clock()).seat("Di")
    desk = ListeningDesk(blind, session_seats(blind)[0].session_id, Clock())
    for pair in desk.pairs:
        rate_pair(desk, pair)
        for _ in "AB":
            desk.note_exposure(20.0, 71.0)
    blind.close()
    shutil.rmtree(place / "in")
    return StudyFolder(place / "study")


@pytest.fixture(scope="module")
def seat(whole, tmp_path_factory):
    """Copy what a seat's account can read: all but the lead's folder."""
    place = tmp_path_factory.mktemp("seat") / "study"
    shutil.copytree(whole.path, place, ignore=shutil.ignore_patterns("lead"))
    return StudyFolder(place)


@pytest.fixture(scope="module")
def key(whole):
    """Read what nobody at a seat may know: set of each clip, role of each pair."""
    raw = raw_database(whole)
    set_of = dict(
        raw.execute("SELECT clip_id, set_id FROM clip_source JOIN recording USING (recording_id)")
    )
    role_of = dict(raw.execute("SELECT pair_id, role FROM pair_role"))
    secrets = [text for (text,) in raw.execute("SELECT original_name FROM recording")]
    secrets += [text for (text,) in raw.execute("SELECT content_hash FROM recording")]
    secrets += [text for (text,) in raw.execute("SELECT stored_name FROM recording")]
    secrets += [text for (text,) in raw.execute("SELECT mask_seed FROM clip_source")]
    secrets += [text for (text,) in raw.execute("SELECT code FROM tyre_set")]
    raw.close()
    return set_of, role_of, [*secrets, *NAMES, str(SEED)]


@pytest.fixture
def tables(seat):
    raw = sqlite3.connect(seat.database)
    raw.row_factory = sqlite3.Row
    yield raw
    raw.close()


def table_names(raw):
    return [name for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]


def clip_rows(raw):
    return [dict(row) for row in raw.execute("SELECT * FROM clip ORDER BY clip_id")]


def test_that_nothing_lies_in_the_folder_but_the_database_and_the_clips(seat):
    assert {path.name for path in seat.path.iterdir()} == {"study.sqlite", "clips"}
    assert all(path.suffix == ".wav" and path.stem.isdigit() for path in seat.clips.iterdir())


def test_that_no_table_column_or_raw_byte_holds_what_identifies(seat, tables, key):
    secrets = key[2]
    told = [
        str(value)
        for name in table_names(tables)
        for row in tables.execute(f"SELECT * FROM {name}")
        for value in tuple(row)
    ]
    assert len(told) > 300
    codes = {secret for secret in secrets if len(secret) == 3}
    assert not [text for text in told for secret in set(secrets) - codes if secret in text]
    assert not codes & set(told)
    content = seat.database.read_bytes()
    assert not [secret for secret in set(secrets) - codes if secret.encode() in content]
    assert tables.execute("PRAGMA freelist_count").fetchone()[0] == 0


def test_that_no_journal_copy_or_workshop_is_left(whole):
    left = [
        path
        for path in whole.path.parent.rglob("*")
        if path.suffix in (".partial", ".sqlite-journal") or path.name.startswith((".", "study."))
    ]
    assert left == [whole.database]


def test_that_sizes_times_rates_and_factors_of_the_clips_are_all_alike(seat, tables):
    stats = [path.stat() for path in seat.clips.iterdir()]
    assert len({(each.st_size, each.st_mtime_ns) for each in stats}) == 1
    rows = clip_rows(tables)
    assert len({(row["frames"], row["sample_rate_hz"]) for row in rows}) == 1
    assert len({row["pa_per_full_scale"] for row in rows}) == 1
    assert not [column for column in rows[0] if "peak" in column or "leq" in column]
    headers = {path.read_bytes()[:44] for path in seat.clips.iterdir()}
    assert len(headers) == 1


def test_that_every_clip_and_every_two_that_meet_are_played_once_in_every_session(tables):
    sessions = defaultdict(list)
    for row in tables.execute("SELECT * FROM pair"):
        sessions[row["session_id"]].append(frozenset((row["clip_a"], row["clip_b"])))
    assert len(sessions) == 10
    assert all(len(pair) == 2 for pairs in sessions.values() for pair in pairs)
    assert len({frozenset(pairs) for pairs in sessions.values()}) == 1
    counts = Counter(clip for pairs in sessions.values() for pair in pairs for clip in pair)
    assert set(counts.values()) == {len(sessions)}
    assert len(counts) == 2 * ((SETS - 1) * CONDITIONS + 2)
    told = tables.execute("SELECT * FROM exposure").fetchall()
    assert told
    assert {(row["clip_id"], row["level_db_a"]) for row in told} == {(None, 71.0)}


def test_that_equal_content_is_not_seen_by_any_hash(seat, tables):
    rows = clip_rows(tables)
    assert len({row["content_hash"] for row in rows}) == len(rows)
    files = [seat.clip_file(row["code"]) for row in rows]
    assert len({hashlib.sha256(file.read_bytes()[44:]).hexdigest() for file in files}) == len(rows)
    # The hash in the table says no more than the file itself.
    assert [content_hash(file) for file in files] == [row["content_hash"] for row in rows]


def test_that_ids_codes_and_the_order_on_the_disk_do_not_follow_the_sets(tmp_path):
    """Over studies the control's clips have every rank as often as the others, by any order."""
    plan = small_plan(tmp_path / "in", sets=3, conditions=1)
    by_rank, studies = Counter(), 200
    for seed in range(studies):
        places = clip_places(dataclasses.replace(plan, seed=seed))
        # As ClipCutter draws them: codes first, then which place gets the next id and code.
        rng = stream(seed, "clip codes")
        codes = blind_codes(len(places), 6, rng)
        order = rng.permutation(len(places))
        control = [rank for rank, place in enumerate(order) if places[place].is_control]
        by_rank.update(("id", rank) for rank in control)
        by_rank.update(("code", sorted(codes).index(codes[rank])) for rank in control)
    for way in ("id", "code"):
        found = np.array([by_rank[way, rank] for rank in range(len(places))])
        # Half of them at every rank, within four standard deviations.
        assert np.abs(found - studies / 2).max() <= 4 * np.sqrt(studies) / 2


def test_that_the_low_byte_tells_no_recorder(seat, tables, key):
    set_of = key[0]
    ones, distances = defaultdict(list), []
    for row in clip_rows(tables):
        codes, _ = soundfile.read(seat.clip_file(row["code"]), dtype="int32")
        low = (codes.ravel() >> 8) & 0xFF
        counts = np.bincount(low, minlength=256)
        expected = len(low) / 256
        distances.append(float(((counts - expected) ** 2 / expected).sum()))
        ones[RECORDED[set_of[row["clip_id"]]][1]].append(float((low == 0).mean()))
    # Chi-square with 255 degrees of freedom: 350 is exceeded once in ten thousand.
    assert max(distances) < 350
    assert all(abs(np.mean(each) - 1 / 256) < 1e-3 for each in ones.values())


def test_that_gaps_between_the_values_of_samples_tell_no_calibration(seat, tables, key):
    """A recorder's steps, scaled by its calibration, would show as a comb."""
    chance = 6 / np.sqrt(2 * 2.5 * RATE_HZ)
    full_scale_pa = max(factor for _, _, factor in RECORDED.values())
    for row in clip_rows(tables):
        codes, _ = soundfile.read(seat.clip_file(row["code"]), dtype="int32")
        values = (codes.ravel() >> 8).astype(np.float64)
        for _, _, factor in RECORDED.values():
            step = 256 * factor / full_scale_pa
            assert abs(np.mean(np.exp(2j * np.pi * values / step))) < chance


def test_that_file_names_give_no_seed_that_can_be_tried(seat, tables):
    """Codes follow from 128 bits: what can be tried in a year does not hold them.

    Seeds that stand in the project's own files and small ones are tried here.
    """
    codes = {row["code"] for row in clip_rows(tables)}
    known = [0, 7, 2046, 1_203_577_261, *range(1, 3000)]
    for seed in known:
        assert set(blind_codes(len(codes), 6, stream(seed, "clip codes"))) != codes
        old = np.random.default_rng([seed, 0, 4])
        assert set(blind_codes(len(codes), 6, old)) != codes
    assert set(blind_codes(len(codes), 6, stream(SEED, "clip codes"))) == codes
    assert SEED.bit_length() > 120


def test_that_the_attack_on_the_seed_is_the_one_that_an_old_study_gave_way_to():
    raw = sqlite3.connect(":memory:")
    raw.executescript((OLD_STUDIES / "version_2.sql").read_text())
    codes = {code for (code,) in raw.execute("SELECT code FROM clip")}
    raw.close()
    found = [
        seed
        for seed in range(1_203_577_000, 1_203_577_500)
        if set(blind_codes(len(codes), 6, np.random.default_rng([seed, 0, 4]))) == codes
    ]
    # Here only its neighbours are tried; from 0 on it takes some days.
    assert found == [1_203_577_261]


def test_that_the_control_is_on_side_a_in_half_of_the_pairs(tables, key):
    set_of, role_of, _ = key
    on_a = [
        set_of[row["clip_a"]] == 1
        for row in tables.execute("SELECT * FROM pair")
        if role_of[row["pair_id"]] == "candidate"
    ]
    assert np.mean(on_a) == pytest.approx(0.5, abs=1 / len(on_a))


def test_that_positions_hide_which_pair_is_the_null_pair_or_the_repeat(tables, key):
    role_of = key[1]
    places = defaultdict(set)
    for row in tables.execute("SELECT * FROM pair"):
        places[role_of[row["pair_id"]]].add(row["position"])
    pairs = (SETS - 1) * CONDITIONS + 2
    # The first place never holds the null pair: the one thing that the order tells.
    assert places["null"] == set(range(2, pairs + 1))
    assert len(places["repeat"]) >= pairs - 1
    assert places["candidate"] == set(range(1, pairs + 1))


def test_that_a_defect_at_a_seat_logs_nothing_of_the_lead(seat, key):
    try:
        raw = sqlite3.connect(seat.database)
        raw.execute("SELECT * FROM lead.recording")
    except sqlite3.OperationalError as defect:
        said = told_defect(defect)
    raw.close()
    assert "no such table: lead.recording" in said
    assert not [secret for secret in key[2] if len(secret) > 3 and secret in said]


def test_that_whoever_compares_the_sound_files_finds_the_control_as_the_guide_says(
    seat, tables, key
):
    """Known, and not closed: copies of one stretch differ by their noise alone."""
    set_of = key[0]
    rows = clip_rows(tables)
    sounds = {row["clip_id"]: soundfile.read(seat.clip_file(row["code"]))[0] for row in rows}
    alike = {
        frozenset(both)
        for both in itertools.combinations(sounds, 2)
        if np.abs(sounds[both[0]] - sounds[both[1]]).max() < 2**-13
    }
    assert alike
    assert all(set_of[one] == set_of[other] for one, other in map(tuple, alike))
    guide = (Path(__file__).resolve().parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert "Whoever compares the sound files finds" in guide
