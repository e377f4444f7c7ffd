import os
import signal
import time

import numpy as np
import pytest
from captured_card import PacedCard

from app.playback.mix import Mixer
from app.playback.pair import LoadedPair, prepared
from app.playback.player import Player

pytestmark = pytest.mark.card

RATE_HZ = 48000
BLOCK = 256


def heard_between(card: PacedCard) -> np.ndarray:
    """All that was captured from the first sound on."""
    everything = card.captured()
    return everything[int(np.flatnonzero(everything.any(axis=1))[0]) :]


def mixed(pair: LoadedPair, frames: int, switch_blocks: list[int]) -> np.ndarray:
    """The pure mix of a loop that begins on A and switches before these blocks."""
    mixer = Mixer(prepared(pair))
    state = mixer.new_state()
    mixer.set_gains(state, pair.gain_a, pair.gain_b)
    state.plays = state.loops = True
    state.rise_left = mixer.rise_frames
    out = np.empty((frames, 2), np.float32)
    for number in range(frames // BLOCK):
        state.wants_b ^= number in switch_blocks
        mixer.render(state, out[number * BLOCK : (number + 1) * BLOCK])
    return out


def first_difference(left: np.ndarray, right: np.ndarray) -> int:
    return int(np.flatnonzero((left != right).any(axis=1))[0])


@pytest.fixture
def playing(player: Player, card: PacedCard, only_devices, noise_pair, qtbot) -> Player:
    only_devices(paced=card.fifo)
    player.set_looping(True)
    player.use_device("paced")
    player.load(noise_pair)
    player.play()
    # The first sound after opening a device rises for three seconds.
    qtbot.waitUntil(lambda: player.coverage("A").heard_s > 0.3, timeout=10000)
    return player


def test_that_what_reaches_the_card_is_the_pure_mix_with_switches_and_seams(
    qtbot, playing: Player, card: PacedCard, noise_pair
) -> None:
    playing.switch()
    qtbot.waitUntil(lambda: playing.coverage("B").hearings == 1, timeout=10000)
    playing.switch()
    qtbot.waitUntil(lambda: playing.coverage("A").hearings == 1, timeout=10000)
    playing.close()
    assert card.finish().underruns == 0
    heard = heard_between(card)
    frames = (len(heard) - 2000) // BLOCK * BLOCK
    heard = heard[:frames]
    # Where the switches fell is read from the capture: the first frame that only they explain.
    first = first_difference(heard, mixed(noise_pair, frames, []))
    assert first % BLOCK == 0
    second = first_difference(heard, mixed(noise_pair, frames, [first // BLOCK]))
    assert second % BLOCK == 0
    expected = mixed(noise_pair, frames, [first // BLOCK, second // BLOCK])
    assert frames > RATE_HZ, "at least one seam of the loop passed"
    np.testing.assert_array_equal(heard, expected)


def test_that_a_pair_of_the_same_clip_switches_without_changing_a_bit(
    qtbot, player: Player, card: PacedCard, only_devices, noise
) -> None:
    only_devices(paced=card.fifo)
    clip = noise(0.5, 3)
    pair = LoadedPair(clip, clip.copy(), RATE_HZ, 0.7, 0.7)
    player.set_looping(True)
    player.use_device("paced")
    player.load(pair)
    player.play()
    for side in ("B", "A", "B"):
        qtbot.waitUntil(lambda: player.position_s > 0.3, timeout=10000)
        player.switch_to(side)
        qtbot.waitUntil(lambda: player.position_s < 0.2, timeout=10000)
    player.close()
    assert card.finish().underruns == 0
    heard = heard_between(card)
    frames = (len(heard) - 2000) // BLOCK * BLOCK
    np.testing.assert_array_equal(heard[:frames], mixed(pair, frames, []))


def test_that_the_player_tells_of_moving_hearing_and_the_end(
    qtbot, player: Player, card: PacedCard, only_devices, noise
) -> None:
    only_devices(paced=card.fifo)
    player.use_device("paced")
    player.load(LoadedPair(noise(4.0, 1), noise(4.0, 2), RATE_HZ))
    player.play()
    with qtbot.waitSignals([player.moved, player.heard_changed], timeout=10000):
        pass
    with qtbot.waitSignal(player.state_changed, timeout=10000):
        pass
    assert not player.is_playing
    assert player.position_s == 0.0
    heard = player.coverage("A")
    # The first sound rises for 3 s, and is not heard as it is before that.
    assert (heard.heard_s, heard.hearings) == (1.0, 0)
    assert heard.bins.tolist() == [0] * 60 + [1] * 20
    assert player.coverage("B").heard_s == 0.0
    assert player.played_s("A") == pytest.approx(4.0, abs=0.01)
    assert player.played_s("B") == 0.0
    with qtbot.waitSignal(player.moved, timeout=5000):
        player.play()
    assert player.is_playing


def test_that_only_the_first_sound_after_opening_a_device_rises_slowly(
    qtbot, playing: Player, card: PacedCard, noise
) -> None:
    qtbot.waitUntil(lambda: playing.coverage("A").heard_s > 0.0, timeout=10000)
    clip = noise(0.5, 9)
    playing.load(LoadedPair(clip, clip, RATE_HZ))
    playing.play()
    qtbot.waitUntil(lambda: playing.coverage("A").hearings == 1, timeout=10000)
    assert playing.played_s("A") < 1.5
    playing.rise_slowly()
    playing.load(LoadedPair(clip, clip, RATE_HZ))
    playing.play()
    qtbot.waitUntil(lambda: playing.coverage("A").heard_s > 0.0, timeout=10000)
    assert playing.played_s("A") > 3.0


def test_that_a_stopped_sound_process_is_told_at_once_and_goes_on_when_it_wakes(
    qtbot, playing: Player
) -> None:
    with qtbot.waitSignal(playing.trouble_raised, timeout=5000):
        os.kill(playing.process_id, signal.SIGSTOP)
        stopped_s = time.monotonic()
    assert time.monotonic() - stopped_s < 0.55
    assert playing.trouble is not None
    before = playing.process_id
    with qtbot.waitSignal(playing.trouble_cleared, timeout=10000):
        os.kill(before, signal.SIGCONT)
    assert playing.process_id == before
    position_s = playing.position_s
    qtbot.waitUntil(lambda: playing.position_s != position_s, timeout=5000)


@pytest.mark.slow
def test_that_a_sound_process_that_stays_stopped_is_replaced(qtbot, playing: Player) -> None:
    before = playing.process_id
    with qtbot.waitSignal(playing.trouble_raised, timeout=5000):
        os.kill(before, signal.SIGSTOP)
    with qtbot.waitSignal(playing.trouble_cleared, timeout=20000):
        pass
    assert playing.process_id not in (0, before)
    assert playing.is_playing


def test_that_the_player_keeps_to_the_device_that_was_checked(
    qtbot, playing: Player, only_devices, card: PacedCard, tmp_path
) -> None:
    assert playing.device_identity == "ALSA: paced"
    playing.hold_to_device()
    # The same name again is taken up again; another device is not, until somebody chooses it.
    playing._keeper._wanted_name = "second"
    second_folder = tmp_path / "second"
    second_folder.mkdir()
    second = PacedCard(second_folder)
    only_devices(paced=card.fifo, second=second.fifo)
    with qtbot.waitSignal(playing.trouble_raised, timeout=10000) as told:
        playing._keeper._open()
    assert told.args[0].what_happened == "The sound would now go to another device, 'second'."
    assert not second.captured().any()
    with qtbot.waitSignal(playing.trouble_cleared, timeout=10000):
        playing.use_device("second")
    assert playing.device_identity == "ALSA: second"
    playing.close()
    second.finish()


def test_that_a_stalled_card_is_told_and_playback_goes_on_after_it(
    qtbot, playing: Player, card: PacedCard
) -> None:
    playing.switch()
    with qtbot.waitSignal(playing.trouble_raised, timeout=10000) as told:
        card.freeze()
    assert str(told.args[0]) == (
        "The sound device 'paced' does not answer. Your scores are safe. Plug it in again or "
        "choose another device; playback goes on where it stopped."
    )
    position_s, heard = playing.position_s, playing.coverage("A").bins
    assert playing.is_playing
    with qtbot.waitSignal(playing.trouble_cleared, timeout=20000):
        card.thaw()
    assert (playing.side, playing.is_playing, playing.is_looping) == ("B", True, True)
    assert np.all(playing.coverage("A").bins >= heard)
    assert playing.trouble is None
    assert playing.position_s != position_s
    qtbot.waitUntil(lambda: playing.coverage("B").hearings >= 1, timeout=10000)


@pytest.mark.slow
def test_that_a_card_frozen_for_long_gets_a_new_process_and_the_old_position(
    qtbot, playing: Player, card: PacedCard
) -> None:
    before = playing.process_id
    with qtbot.waitSignal(playing.trouble_raised, timeout=10000):
        card.freeze()
    position_s = playing.position_s
    qtbot.waitUntil(lambda: playing.process_id not in (0, before), timeout=20000)
    # The new process may fill its first buffers before it, too, has to wait.
    assert (playing.position_s - position_s) % 0.99 < 0.2
    with qtbot.waitSignal(playing.trouble_cleared, timeout=20000):
        card.thaw()
    assert playing.is_playing


def test_that_a_missing_device_is_told_and_found_when_it_appears(
    qtbot, player: Player, card: PacedCard, only_devices, tmp_path, noise_pair
) -> None:
    only_devices(other=tmp_path / "other.raw")
    with qtbot.waitSignal(player.trouble_raised, timeout=10000) as told:
        player.use_device("paced")
        player.load(noise_pair)
        player.play()
    assert told.args[0].what_happened == "The sound device 'paced' is not there."
    names = [device.name for device in player.devices()]
    assert "other" in names
    assert "paced" not in names
    with qtbot.waitSignal(player.trouble_cleared, timeout=10000):
        only_devices(other=tmp_path / "other.raw", paced=card.fifo)
    assert player.played_s("A") > 0.0


def test_that_a_killed_process_is_replaced_and_goes_on_at_the_same_place(
    qtbot, playing: Player, card: PacedCard
) -> None:
    playing.switch()
    # A process that has lived for two seconds is replaced without a word.
    qtbot.waitUntil(lambda: playing.coverage("B").hearings == 2, timeout=10000)
    before, heard = playing.process_id, playing.coverage("B").bins
    os.kill(before, signal.SIGKILL)
    qtbot.waitUntil(lambda: playing.process_id not in (0, before), timeout=10000)
    position_s = playing.position_s
    qtbot.waitUntil(lambda: playing.position_s != position_s, timeout=10000)
    # Of a loop of 0.99 s; the rest is the time until this process looked.
    assert (playing.position_s - position_s) % 0.99 < 0.4
    assert (playing.side, playing.is_playing, playing.trouble) == ("B", True, None)
    assert np.all(playing.coverage("B").bins >= heard)


def test_that_another_device_is_taken_over_while_playing(
    qtbot, playing: Player, only_devices, card: PacedCard, tmp_path
) -> None:
    second_folder = tmp_path / "second"
    second_folder.mkdir()
    second = PacedCard(second_folder)
    only_devices(paced=card.fifo, second=second.fifo)
    played_s = playing.played_s("A")
    playing.use_device("second")
    qtbot.waitUntil(lambda: playing.played_s("A") > played_s + 0.5, timeout=10000)
    playing.close()
    second.finish()
    assert second.captured().any()


def test_that_another_device_can_be_chosen_while_one_does_not_answer(
    qtbot, playing: Player, only_devices, card: PacedCard, tmp_path
) -> None:
    second_folder = tmp_path / "second"
    second_folder.mkdir()
    second = PacedCard(second_folder)
    only_devices(paced=card.fifo, second=second.fifo)
    with qtbot.waitSignal(playing.trouble_raised, timeout=10000):
        card.freeze()
    with qtbot.waitSignal(playing.trouble_cleared, timeout=20000):
        playing.use_device("second")
    playing.close()
    second.finish()
    assert second.captured().any()


def test_that_a_pair_at_another_rate_reopens_the_device(qtbot, playing: Player, noise) -> None:
    clip = noise(0.5, 9)
    playing.load(LoadedPair(clip, clip, 44100))
    playing.play()
    qtbot.waitUntil(lambda: playing.coverage("A").heard_s > 0.2, timeout=10000)
    assert playing.duration_s == pytest.approx(24000 / 44100)
    assert playing.trouble is None


def test_that_looking_again_finds_a_new_device_and_keeps_the_open_one(
    qtbot, player: Player, card: PacedCard, only_devices, tmp_path, noise_pair
) -> None:
    only_devices(paced=card.fifo)
    with qtbot.waitSignal(player.devices_changed, timeout=10000):
        player.use_device("paced")
        player.load(noise_pair)
    qtbot.waitUntil(lambda: player.output_latency_s > 0.0, timeout=10000)
    only_devices(paced=card.fifo, other=tmp_path / "other.raw")
    with qtbot.waitSignal(player.devices_changed, timeout=10000):
        player.refresh_devices()
    assert {"paced", "other"} <= {device.name for device in player.devices()}
    player.play()
    qtbot.waitUntil(lambda: player.played_s("A") > 0.2, timeout=10000)
    assert player.trouble is None
