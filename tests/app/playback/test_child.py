import json
import os
import select
import signal
import subprocess
import sys
import time
from dataclasses import asdict
from pathlib import Path

import numpy as np
import pytest
from captured_card import PacedCard

from app.playback.link import child_command
from app.playback.memory import PairMemory
from app.playback.mix import Mixer
from app.playback.pair import LoadedPair, prepared

RATE_HZ = 48000
ROOT = Path(__file__).resolve().parents[3]


class Child:
    """A sound process spoken to by hand."""

    def __init__(self) -> None:
        self.process = subprocess.Popen(
            child_command(),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )

    def order(self, do: str, **facts: object) -> None:
        self.process.stdin.write(json.dumps({"do": do, **facts}) + "\n")
        self.process.stdin.flush()

    def load(self, memory: PairMemory) -> None:
        self.order("load", memory=memory.name, shape=asdict(memory.shape))

    def open(
        self, device: str | None, sample_rate_hz: int = RATE_HZ, only: str | None = None
    ) -> None:
        self.order(
            "open",
            device=device,
            sample_rate_hz=sample_rate_hz,
            block_frames=256,
            latency_s=None,
            only=only,
        )

    def report(self, event: str) -> dict:
        for line in self.process.stdout:
            facts = json.loads(line)
            if facts["event"] == event:
                return facts
        pytest.fail(f"the sound process ended without '{event}': {self.process.stderr.read()}")

    def goodbye(self) -> str:
        """Close the input; returns what was written to the error output."""
        errors = self.process.communicate(timeout=10)[1]
        assert self.process.returncode == 0, errors
        return errors


@pytest.fixture
def fast_card(tmp_path):
    # Four times real time. A plain file would take samples without end, and starve the machine.
    made = PacedCard(tmp_path, buffer_bytes=1 << 19, rate_hz=4 * RATE_HZ)
    yield made
    made.close()


@pytest.fixture
def child(only_devices, fast_card):
    only_devices(fast=fast_card.fifo)
    made = Child()
    yield made
    if made.process.poll() is None:
        made.process.kill()
        made.process.communicate()


@pytest.mark.slow
def test_that_a_clip_through_portaudio_is_the_pure_mix_to_the_bit(child, fast_card, noise) -> None:
    pair = LoadedPair(noise(4.0, 1), noise(4.0, 2), RATE_HZ, 0.8, 0.5)
    memory = PairMemory.create(prepared(pair))
    page = memory.page
    page.gain_a, page.gain_b = pair.gain_a, pair.gain_b
    page.wants_b = page.plays = page.play_sequence = 1
    child.load(memory)
    child.report("loaded")
    memory.forget_name()
    child.open("fast")
    child.report("opened")
    while page.ended_sequence == 0:
        assert child.process.poll() is None
        page.heartbeat += 1
        os.sched_yield()
    assert child.goodbye() == ""
    assert page.position_frame == 0
    # While the sound rises it is not heard as it is.
    assert memory.hearings_b.tolist() == [0] * 60 + [1] * 20
    memory.close()

    mixer = Mixer(prepared(pair))
    state = mixer.new_state()
    mixer.set_gains(state, pair.gain_a, pair.gain_b)
    state.plays = state.wants_b = True
    state.rise_left = mixer.rise_frames
    expected = np.empty((len(pair.a), 2), np.float32)
    mixer.render(state, expected)
    fast_card.finish()
    heard = fast_card.captured()
    start = int(np.flatnonzero(heard.any(axis=1))[0])
    np.testing.assert_array_equal(heard[start : start + len(expected)], expected)
    assert not heard[start + len(expected) :].any()


def test_that_the_process_tells_the_devices_and_ends_with_its_input(child) -> None:
    assert child.report("ready")["scheduling"] in ("real-time", "nice", "normal")
    child.order("devices")
    names = [name for name, _ in child.report("devices")["devices"]]
    assert "fast" in names
    assert child.goodbye() == ""


def test_that_a_device_that_is_not_there_is_refused_by_name(child) -> None:
    child.open("headphones")
    assert child.report("refused")["words"] == "The sound device 'headphones' is not there."
    assert child.goodbye() == ""


def test_that_only_the_device_whose_level_was_checked_is_opened(child) -> None:
    child.open("fast")
    opened = child.report("opened")
    assert (opened["device"], opened["identity"]) == ("fast", "ALSA: fast")
    child.open("fast", only="ALSA: fast")
    assert child.report("opened")
    child.open("fast", only="ALSA: another")
    words = child.report("refused")["words"]
    assert words == "The sound would now go to another device, 'fast'."
    assert child.goodbye() == ""


@pytest.mark.parametrize("module", ["app", "sounddevice", "numpy", "json", "ratings"])
def test_that_nothing_beside_the_work_of_the_person_is_run(tmp_path, monkeypatch, module) -> None:
    marker = tmp_path / "was_run"
    (tmp_path / f"{module}.py").write_text(f"open({str(marker)!r}, 'w')\n")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    child = Child()
    assert child.report("ready")
    child.goodbye()
    assert not marker.exists()


@pytest.mark.slow
def test_that_an_order_for_memory_already_gone_is_passed_over(child, noise_pair) -> None:
    memory = PairMemory.create(prepared(noise_pair))
    gone = memory.name
    memory.forget_name()
    child.order("load", memory=gone, shape=asdict(memory.shape))
    child.order("devices")
    assert child.report("devices")
    memory.close()
    assert child.goodbye() == ""


def test_that_the_process_brings_no_window_and_no_statistics_along(tmp_path) -> None:
    lines = (
        "import sys, app.playback.child, app.playback.feed\n"
        "print([n for n in ('PySide6', 'scipy', 'pandas', 'pyqtgraph') if n in sys.modules])"
    )
    answer = subprocess.run(
        [sys.executable, "-c", lines], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert answer.stdout.strip() == "[]"


PARENT = """
import sys, time
from PySide6.QtCore import QCoreApplication
import numpy as np
from app.playback.pair import LoadedPair
from app.playback.player import Player
application = QCoreApplication([])
player = Player()
clip = np.full((24000, 2), 0.1, np.float32)
player.set_looping(True)
player.use_device("paced")
player.load(LoadedPair(clip, clip, 48000))
player.play()
def tell():
    if player.position_s > 0.1:
        player.moved.disconnect(tell)
        print(player.process_id, flush=True)
player.moved.connect(tell)
application.exec()
"""


@pytest.mark.card
def test_that_the_process_ends_when_its_parent_is_killed(card: PacedCard, only_devices) -> None:
    only_devices(paced=card.fifo)
    parent = subprocess.Popen(
        [sys.executable, "-c", PARENT],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    process_id = int(parent.stdout.readline())
    watch = os.pidfd_open(process_id)
    parent.send_signal(signal.SIGKILL)
    # The error output is shared with the tracker processes: it ends when the last of them is gone.
    errors = parent.communicate(timeout=20)[1]
    assert select.select([watch], [], [], 10)[0], "the sound process outlived its parent"
    os.close(watch)
    assert errors == ""
    assert not list(Path("/dev/shm").glob(f"twinset-{parent.pid}-*"))


@pytest.mark.card
def test_that_a_window_that_stands_still_is_silent_within_half_a_second_and_goes_on(
    tmp_path, only_devices
) -> None:
    card = PacedCard(tmp_path)
    only_devices(paced=card.fifo)
    parent = subprocess.Popen(
        [sys.executable, "-c", PARENT], cwd=ROOT, stdout=subprocess.PIPE, text=True
    )
    parent.stdout.readline()
    stopped_s, latest_s = time.monotonic(), time.monotonic() + 2.0
    parent.send_signal(signal.SIGSTOP)
    while time.monotonic() < latest_s:
        os.sched_yield()
    parent.send_signal(signal.SIGCONT)
    woken_s = time.monotonic()
    while time.monotonic() < woken_s + 1.0:
        os.sched_yield()
    parent.kill()
    parent.wait()
    parent.stdout.close()
    log = card.finish()
    sounds = card.captured().any(axis=1)
    times_s = np.array([log.time_of_frame(n) for n in range(0, len(sounds), 64)])
    sounding_s = times_s[sounds[::64]]
    silent_after_s = sounding_s[sounding_s < woken_s].max() - stopped_s
    assert silent_after_s < 0.5, f"{silent_after_s:.3f} s"
    assert (sounding_s > woken_s).any(), "it goes on by itself"
