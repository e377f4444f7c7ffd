import os
import subprocess
import sys
from collections.abc import Iterator

import numpy as np
import pytest

from app.playback.deck import Deck
from app.playback.memory import PairMemory, clear_leftovers
from app.playback.pair import prepared
from ratings.errors import PlaybackError

RATE_HZ = 48000


@pytest.fixture
def memory(noise_pair) -> Iterator[PairMemory]:
    made = PairMemory.create(prepared(noise_pair))
    made.page.gain_a = made.page.gain_b = 1.0
    yield made
    made.close()


def pulled(deck: Deck, frames: int) -> np.ndarray:
    out = np.empty((frames, 2), np.float32)
    for start in range(0, frames, 256):
        deck.fill(out[start : start + 256])
    return out


def press_play(memory: PairMemory) -> None:
    memory.page.heartbeat += 1
    memory.page.play_sequence += 1
    memory.page.plays = True


def test_that_a_new_page_asks_for_silence(memory: PairMemory) -> None:
    deck = Deck(memory)
    assert not pulled(deck, 512).any()
    assert memory.page.callbacks == 2
    assert deck.is_at_rest
    del deck


def test_that_the_deck_plays_what_the_page_wants_and_reports_it(memory, noise_pair) -> None:
    deck = Deck(memory)
    press_play(memory)
    memory.page.wants_b = True
    out = pulled(deck, 4800)
    np.testing.assert_array_equal(out[480:], noise_pair.b[480:4800])
    page = memory.page
    assert page.position_frame == 4800
    assert page.sounds_b == 1
    assert page.sounding == 1
    assert page.frames_played_b == 4800
    assert page.last_callback_s > 0
    assert memory.hearings_b.sum() == 2
    del deck


def test_that_the_end_is_reported_and_a_new_start_begins_at_the_front(memory, noise_pair) -> None:
    deck = Deck(memory)
    press_play(memory)
    pulled(deck, RATE_HZ + 512)
    assert memory.page.ended_sequence == memory.page.play_sequence == 1
    assert memory.page.position_frame == 0
    assert not deck.wants_to_play
    press_play(memory)
    np.testing.assert_array_equal(pulled(deck, 1024)[480:], noise_pair.a[480:1024])
    del deck


def test_that_a_seek_is_taken_once(memory: PairMemory) -> None:
    deck = Deck(memory)
    memory.page.seek_frame = 9000
    memory.page.seek_sequence += 1
    pulled(deck, 256)
    assert memory.page.position_frame == 9000
    assert memory.page.seek_done == 1
    press_play(memory)
    pulled(deck, 512)
    assert memory.page.position_frame == 9512
    del deck


def test_that_a_held_deck_comes_to_rest_and_goes_on_when_let_go(memory: PairMemory) -> None:
    deck = Deck(memory)
    press_play(memory)
    pulled(deck, 1024)
    deck.is_held = True
    out = pulled(deck, 1024)
    assert deck.is_at_rest
    assert not out[480:].any()
    assert deck.wants_to_play
    deck.is_held = False
    assert pulled(deck, 512).any()
    del deck


def test_that_a_deck_on_a_copy_goes_on_where_the_old_one_was(memory, noise_pair) -> None:
    deck = Deck(memory)
    press_play(memory)
    pulled(deck, 9600)
    copied = memory.copy()
    second = Deck(copied)
    np.testing.assert_array_equal(pulled(second, 1024)[480:], noise_pair.a[10080:10624])
    assert copied.page.frames_played_a == 9600 + 1024
    assert copied.hearings_a.sum() == 4
    del deck, second
    copied.close()


def test_that_an_underflow_is_counted(memory: PairMemory) -> None:
    deck = Deck(memory)
    deck.fill(np.empty((256, 2), np.float32), underflow=True)
    deck.fill(np.empty((256, 2), np.float32))
    assert memory.page.underflows == 1
    del deck


def test_that_a_second_view_of_the_block_shares_everything(memory: PairMemory) -> None:
    other = PairMemory.attach(memory.name, memory.shape)
    other.page.position_frame = 77
    other.hearings_b[3] = 2
    assert memory.page.position_frame == 77
    assert memory.hearings_b[3] == 2
    np.testing.assert_array_equal(other.audio.looped_a, memory.audio.looped_a)
    np.testing.assert_array_equal(other.audio.ending_b, memory.audio.ending_b)
    other.close()
    # In one process both ends share one tracker, which the second view has just signed off.
    from multiprocessing import resource_tracker

    resource_tracker.register(f"/{memory.name}", "shared_memory")


def test_that_a_pair_without_room_is_refused_in_words(monkeypatch, noise_pair) -> None:
    class Full:
        free = 100_000

    monkeypatch.setattr("app.playback.memory.shutil.disk_usage", lambda _folder: Full)
    with pytest.raises(PlaybackError, match="not 1 MB of shared memory free"):
        PairMemory.create(prepared(noise_pair))


def test_that_a_forgotten_name_cannot_be_attached_but_the_memory_lives(memory, noise_pair) -> None:
    memory.forget_name()
    with pytest.raises(FileNotFoundError):
        PairMemory.attach(memory.name, memory.shape)
    np.testing.assert_array_equal(memory.audio.looped_a[:-480], noise_pair.a[:-480])


def test_that_without_a_sign_of_life_from_the_window_there_is_silence_and_after_it_sound(
    memory, monkeypatch
) -> None:
    now = [100.0]
    monkeypatch.setattr("app.playback.deck.time.monotonic", lambda: now[0])
    deck = Deck(memory)
    pulled(deck, 256)
    press_play(memory)
    assert pulled(deck, 4096).any()
    for _ in range(3):
        now[0] += 0.09
        assert pulled(deck, 256).any()
    now[0] += 0.09
    # The ramp down, then nothing, for as long as it takes.
    assert not pulled(deck, 4096)[480:].any()
    assert deck.is_at_rest
    position = memory.page.position_frame
    memory.page.heartbeat += 1
    assert pulled(deck, 4096).any()
    assert memory.page.position_frame == position + 4096
    del deck


def test_that_a_window_that_stops_right_after_a_pair_has_begun_is_noticed(
    memory, monkeypatch
) -> None:
    now = [100.0]
    monkeypatch.setattr("app.playback.deck.time.monotonic", lambda: now[0])
    press_play(memory)
    deck = Deck(memory)
    assert pulled(deck, 4096).any()
    for _ in range(4):
        now[0] += 0.09
        pulled(deck, 256)
    assert not pulled(deck, 4096)[480:].any()
    del deck


def test_that_the_deck_rises_once_for_each_wish_and_reports_how_far_it_is(memory) -> None:
    deck = Deck(memory)
    memory.page.loops = True
    memory.page.rise_sequence = 1
    press_play(memory)
    quiet = np.abs(pulled(deck, 4800)).max()
    assert memory.page.rise_left == 3 * RATE_HZ - 4800
    for _ in range(30):
        memory.page.heartbeat += 1
        loud = np.abs(pulled(deck, 4800)).max()
    assert memory.page.rise_left == 0
    assert quiet < loud / 50
    deck.must_rise = True
    assert np.abs(pulled(deck, 4800)).max() < loud / 50
    del deck


@pytest.mark.parametrize("gain", [float("nan"), float("inf"), -1.0])
def test_that_a_spoilt_gain_on_the_page_is_silence(memory, gain) -> None:
    deck = Deck(memory)
    memory.page.gain_a = gain
    press_play(memory)
    assert not pulled(deck, 4096).any()
    del deck


def test_that_a_gain_on_the_page_above_the_checked_one_is_held(memory, noise_pair) -> None:
    deck = Deck(memory)
    memory.page.gain_a = 1000.0
    press_play(memory)
    np.testing.assert_array_equal(pulled(deck, 4096)[480:], noise_pair.a[480:4096])
    del deck


def test_that_blocks_of_dead_programs_are_cleared_and_those_of_living_ones_stay(
    tmp_path, monkeypatch
) -> None:
    monkeypatch.setattr("app.playback.memory.SHARED_MEMORY_FOLDER", tmp_path)
    ended = subprocess.Popen([sys.executable, "-c", ""])
    ended.wait()
    left = tmp_path / f"twinset-{ended.pid}-0a1b2c3d"
    kept = [
        tmp_path / f"twinset-{os.getpid()}-0a1b2c3d",
        tmp_path / f"twinset-{10**30}-x",
        tmp_path / "twinset-notes-x",
        tmp_path / f"another-{ended.pid}-x",
    ]
    for path in (left, *kept):
        path.touch()
    clear_leftovers()
    assert sorted(tmp_path.iterdir()) == sorted(kept)
