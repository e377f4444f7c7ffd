from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from app.playback.keeper import DeviceKeeper
from app.playback.link import _CHILD
from app.playback.pair import LoadedPair
from app.playback.player import Player
from ratings.errors import PlaybackError


@pytest.fixture
def no_devices(only_devices) -> None:
    cards = Path("/proc/asound/cards")
    if cards.exists() and "[" in cards.read_text():
        pytest.skip("this computer has a sound card")
    only_devices()


@pytest.mark.usefixtures("no_devices")
def test_that_without_a_sound_card_everything_works_and_the_lack_is_told(
    qtbot, player: Player, noise_pair
) -> None:
    with qtbot.waitSignal(player.trouble_raised, timeout=10000) as told:
        player.load(noise_pair)
        player.play()
    trouble = told.args[0]
    assert isinstance(trouble, PlaybackError)
    assert str(trouble) == (
        "This computer has no sound device that can be used. Your scores are safe. "
        "Plug one in or switch it on; playback begins by itself when it is there."
    )
    assert player.devices() == []
    assert player.is_playing
    player.switch()
    player.seek(0.4)
    assert (player.side, player.position_s, player.duration_s) == ("B", 0.4, 1.0)
    player.unload()
    assert not player.is_loaded


def test_that_an_empty_player_answers_everything_and_does_nothing(player: Player) -> None:
    player.play()
    player.pause()
    player.toggle_play()
    player.switch()
    player.seek(3.0)
    player.unload()
    assert (player.side, player.is_playing, player.position_s, player.duration_s) == (
        "A",
        False,
        0.0,
        0.0,
    )
    assert player.coverage("A").total_s == 0.0
    assert player.coverage("B").bins.size == 0
    assert player.played_s("A") == 0.0
    assert player.process_id == 0


@pytest.mark.usefixtures("no_devices")
def test_that_a_pair_starts_at_rest_on_side_a_with_nothing_heard(player, noise_pair) -> None:
    player.load(noise_pair)
    player.switch()
    player.seek(0.5)
    player.load(noise_pair)
    assert (player.side, player.is_playing, player.position_s) == ("A", False, 0.0)
    heard = player.coverage("A")
    assert (heard.heard_s, heard.total_s, heard.hearings) == (0.0, 1.0, 0)
    np.testing.assert_array_equal(heard.bins, np.zeros(20, np.uint8))


@pytest.mark.usefixtures("no_devices")
def test_that_looping_stays_set_for_the_next_pair(qtbot, player: Player, noise_pair) -> None:
    with qtbot.waitSignal(player.state_changed):
        player.set_looping(True)
    player.load(noise_pair)
    assert player.is_looping


@pytest.mark.usefixtures("no_devices")
def test_that_each_change_of_state_is_signalled_once(qtbot, player: Player, noise_pair) -> None:
    changes = []
    player.state_changed.connect(lambda: changes.append(1))
    for step in (
        lambda: player.load(noise_pair),
        player.play,
        player.switch,
        player.pause,
        player.toggle_play,
        lambda: player.switch_to("A"),
    ):
        changes.clear()
        step()
        assert len(changes) == 1
    player.switch_to("A")
    player.play()
    assert len(changes) == 1


def test_that_clips_that_do_not_fit_are_refused_and_the_pair_stays(player, noise, noise_pair):
    with pytest.raises(PlaybackError, match="equally long"):
        player.load(LoadedPair(noise(0.5, 1), noise(0.6, 2), 48000))
    assert not player.is_loaded


def test_that_a_sound_process_that_cannot_start_is_told_in_words(qtbot, monkeypatch, tmp_path):
    monkeypatch.setattr("app.playback.link.sys.executable", str(tmp_path / "nothing"))
    keeper = DeviceKeeper()
    with qtbot.waitSignal(keeper.trouble_raised) as told:
        keeper.use(None)
    assert "sound process ended" in told.args[0].what_happened
    assert "scores are safe" in told.args[0].what_to_do
    keeper.close()


def test_that_a_missing_sound_library_is_told_with_what_to_install(
    qtbot, monkeypatch, tmp_path
) -> None:
    # A sound binding that fails as the real one does where PortAudio is not installed.
    (tmp_path / "sounddevice.py").write_text("raise OSError('PortAudio library not found')\n")
    first = f"import sys; sys.path.insert(0, {str(tmp_path)!r}); "
    later = _CHILD.replace("sys.path.insert(0, ", "sys.path.insert(1, ")
    monkeypatch.setattr("app.playback.link._CHILD", first + later)
    keeper = DeviceKeeper()
    with qtbot.waitSignal(keeper.trouble_raised, timeout=10000) as told:
        keeper.use(None)
    assert "PortAudio is not installed" in told.args[0].what_happened
    assert "libportaudio2" in told.args[0].what_to_do
    qtbot.waitUntil(lambda: not keeper.link.is_running, timeout=10000)
    assert keeper.trouble is told.args[0]
    keeper.close()


def test_that_a_pair_much_louder_than_all_before_rises_slowly(player: Player, noise_pair) -> None:
    def rises(gain: float) -> bool:
        """Load a pair and take its rise, if it has one, as done."""
        player.load(replace(noise_pair, gain_a=gain, gain_b=gain))
        page = player._memory.page
        page.rise_done, rises = page.rise_sequence, bool(page.rise_sequence)
        return rises

    assert rises(0.01)
    assert not rises(0.03)
    assert not rises(0.01)
    assert rises(0.3)
    assert not rises(0.3)
    player.rise_slowly()
    assert rises(0.001)
