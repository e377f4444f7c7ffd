"""Underruns, time from key to ear and cost of the mix, on a paced card with a busy window.

Run from the project's top: `.venv/bin/python tests/benchmarks/bench_playback.py --seconds 60`.
"""

import argparse
import os
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Protocol

import numpy as np

TOP = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(TOP), str(TOP / "tests")]
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import pyqtgraph as pg  # noqa: E402
from captured_card import CardLog, PacedCard, alsa_configuration  # noqa: E402
from PySide6.QtCore import QTimer  # noqa: E402
from PySide6.QtWidgets import QApplication  # noqa: E402

from app.playback.deck import Deck  # noqa: E402
from app.playback.memory import PairMemory  # noqa: E402
from app.playback.pair import LoadedPair, prepared  # noqa: E402
from app.playback.player import Player  # noqa: E402

RATE_HZ = 48000
BLOCK_FRAMES = 256
SWITCH_EVERY_MS = 503
QUIET_FRAMES = 4800


class Transport(Protocol):
    """What both ways of playing can do."""

    def switch(self) -> None: ...

    def close(self) -> None: ...


def split_pair() -> LoadedPair:
    """A only on the left, B only on the right: a switch is seen at the sample."""
    noise = np.random.default_rng(7).uniform(0.05, 0.2, (4 * RATE_HZ, 2)).astype(np.float32)
    left, right = noise * np.float32([1, 0]), noise * np.float32([0, 1])
    return LoadedPair(left, right, RATE_HZ)


class OwnProcess:
    """The program's way: the callback in a process of its own."""

    def __init__(self) -> None:
        self._player = Player()
        self._player.set_looping(True)
        self._player.use_device("paced")
        self._player.load(split_pair())
        self._player.play()
        self.switch, self.close = self._player.switch, self._player.close


class WindowProcess:
    """The named alternative: the same callback in the window's process."""

    def __init__(self) -> None:
        from app.playback.feed import Feed, Output

        self._memory = PairMemory.create(prepared(split_pair()))
        self._memory.forget_name()
        page = self._memory.page
        page.gain_a = page.gain_b = 1.0
        page.loops = page.plays = page.play_sequence = 1
        self._feed = Feed()
        self._feed.deck = Deck(self._memory)
        self._output = Output(self._feed)
        self._output.open("paced", RATE_HZ, BLOCK_FRAMES, None)

    def switch(self) -> None:
        self._memory.page.wants_b = not self._memory.page.wants_b

    def close(self) -> None:
        self._output.close()
        self._feed.deck = None
        self._memory.close()


@contextmanager
def busy_window() -> Iterator[None]:
    """A window that repaints a plot, with numpy and plain Python busy, as a job in a thread too."""
    window = pg.PlotWidget()
    window.resize(1280, 720)
    curve = window.plot()
    window.show()
    random = np.random.default_rng(3)

    def repaint() -> None:
        curve.setData(random.normal(size=4000))

    def compute() -> None:
        spectrum = np.fft.rfft(random.normal(size=1 << 18))
        np.sort(np.abs(spectrum))
        total = 0
        for number in range(100_000):
            total += number * number

    is_over = threading.Event()

    def work_aside() -> None:
        # Sorting a list holds the interpreter for the whole call, as much of a table's work does.
        numbers = random.normal(size=100_000).tolist()
        while not is_over.is_set():
            sorted(numbers)
            sum(number * number for number in numbers)

    job = threading.Thread(target=work_aside)
    job.start()
    timers = [QTimer(interval=16), QTimer(interval=0)]
    timers[0].timeout.connect(repaint)
    timers[1].timeout.connect(compute)
    for timer in timers:
        timer.start()
    yield
    is_over.set()
    job.join()
    for timer in timers:
        timer.stop()
    window.close()


def first_changes(samples: np.ndarray) -> np.ndarray:
    """Frames at which a channel that was silent for 100 ms begins to sound."""
    onsets = []
    for channel in (0, 1):
        sounding = np.flatnonzero(samples[:, channel])
        gaps = np.diff(sounding, prepend=-QUIET_FRAMES - 1)
        onsets.append(sounding[gaps > QUIET_FRAMES])
    return np.sort(np.concatenate(onsets))[1:]


def measured(way: type, seconds: float, buffer_bytes: int) -> tuple[CardLog, np.ndarray]:
    """Play with switches beside a busy window; the card's log and the delays in s."""
    application = QApplication.instance() or QApplication([])
    with tempfile.TemporaryDirectory() as folder:
        card = PacedCard(Path(folder), buffer_bytes=buffer_bytes)
        configuration = alsa_configuration(Path(folder), {"paced": card.fifo})
        os.environ["ALSA_CONFIG_PATH"] = str(configuration)
        pressed_s: list[float] = []
        transport: Transport = way()

        def press() -> None:
            pressed_s.append(time.monotonic())
            transport.switch()

        switching = QTimer(interval=SWITCH_EVERY_MS)
        switching.timeout.connect(press)
        QTimer.singleShot(1000, switching.start)
        QTimer.singleShot(round(seconds * 1000) + 1000, application.quit)
        with busy_window():
            application.exec()
        switching.stop()
        transport.close()
        log = card.finish()
        heard_s = np.array([log.time_of_frame(frame) for frame in first_changes(card.captured())])
    delays = [
        min(later) for press_s in pressed_s if len(later := heard_s[heard_s > press_s] - press_s)
    ]
    return log, np.array([delay for delay in delays if delay < SWITCH_EVERY_MS / 1000])


def mix_cost_us(fading: bool) -> float:
    """Median time of one block of 256 frames, page included."""
    memory = PairMemory.create(prepared(split_pair()))
    memory.forget_name()
    page = memory.page
    page.gain_a = page.gain_b = 0.5
    page.loops = page.plays = page.play_sequence = 1
    deck, block = Deck(memory), np.empty((BLOCK_FRAMES, 2), np.float32)
    times = []
    for number in range(4000):
        if fading and number % 2:
            page.wants_b = not page.wants_b
        start = time.perf_counter()
        deck.fill(block)
        times.append(time.perf_counter() - start)
    del deck
    memory.close()
    return float(np.median(times)) * 1e6


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=60.0, help="length of each run")
    parser.add_argument("--buffer-bytes", type=int, default=16384, help="the card's buffer")
    options = parser.parse_args()
    buffer_ms = options.buffer_bytes / 8 / RATE_HZ * 1000
    print(f"mix of one block: {mix_cost_us(False):.1f} us, while fading {mix_cost_us(True):.1f} us")
    print(
        f"card of {buffer_ms:.0f} ms, {BLOCK_FRAMES} frames a block, {options.seconds:.0f} s each:"
    )
    for name, way in (("process of its own", OwnProcess), ("window's process", WindowProcess)):
        log, delays = measured(way, options.seconds, options.buffer_bytes)
        milliseconds = delays * 1000
        print(
            f"  {name:20} underruns {log.underruns:4}  silence {log.missing_frames:6} frames  "
            f"card's own lateness {log.latest_tick_s * 1000:.1f} ms\n"
            f"  {'':20} switch to first changed sample: median {np.median(milliseconds):.1f} ms, "
            f"longest {milliseconds.max():.1f} ms, n = {len(delays)}"
        )


if __name__ == "__main__":
    main()
