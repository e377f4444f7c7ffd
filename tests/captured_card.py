"""A sound card made of files: PortAudio plays into it through ALSA, and every sample is kept."""

import contextlib
import fcntl
import json
import os
import select
import signal
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

FRAME_BYTES = 8
SET_PIPE_SIZE = 1031  # F_SETPIPE_SZ of Linux's fcntl.h
PERIOD_FRAMES = 64
IDLE_S = 0.25

# ALSA's `file` plugin in front of its `null` card: https://www.alsa-project.org/alsa-doc/alsa-lib/
# (pcm_plugins). A plain file takes samples as fast as they come; a full FIFO makes the writer wait.
_PCM = """
pcm.{name} {{
    type file
    slave.pcm "null"
    file "{path}"
    format "raw"
    perm 0600
}}
"""


def alsa_configuration(folder: Path, devices: dict[str, Path]) -> Path:
    """Write (or write anew) an ALSA configuration that knows these devices only."""
    path = folder / "asound.conf"
    parts = [_PCM.format(name=name, path=target) for name, target in devices.items()]
    text = "</usr/share/alsa/alsa.conf>\n" + "".join(parts)
    fresh = path.with_suffix(".new")
    fresh.write_text(text)
    fresh.replace(path)
    return path


def captured(path: Path) -> NDArray[np.float32]:
    """Samples that reached the card, shape (frames, 2)."""
    data = path.read_bytes()
    whole = len(data) // FRAME_BYTES * FRAME_BYTES
    return np.frombuffer(data[:whole], np.float32).reshape(-1, 2)


@dataclass(frozen=True)
class CardLog:
    """What the card saw: (monotonic s, frame) at each start, underruns and their silence."""

    starts: list[tuple[float, int]]
    underruns: int
    missing_frames: int
    latest_tick_s: float
    rate_hz: int

    def time_of_frame(self, frame: int) -> float:
        """Monotonic time at which the card took this captured frame."""
        start_s, start_frame = max(start for start in self.starts if start[1] <= frame)
        return start_s + (frame - start_frame) / self.rate_hz


class PacedCard:
    """A process that takes frames from a FIFO at the pace of a real card and keeps them."""

    def __init__(self, folder: Path, *, buffer_bytes: int = 16384, rate_hz: int = 48000) -> None:
        self.fifo = folder / "card.fifo"
        self.capture = folder / "capture.raw"
        self._log = folder / "card.json"
        os.mkfifo(self.fifo)
        arguments = [self.fifo, self.capture, self._log, buffer_bytes, rate_hz]
        self._process = subprocess.Popen(
            [sys.executable, __file__, *map(str, arguments)], stdout=subprocess.PIPE
        )
        assert self._process.stdout is not None
        assert self._process.stdout.readline().startswith(b"ready")

    def freeze(self) -> None:
        """Stop taking frames, like a card whose cable was pulled."""
        self._process.send_signal(signal.SIGSTOP)

    def thaw(self) -> None:
        """Take frames again."""
        self._process.send_signal(signal.SIGCONT)

    def finish(self) -> CardLog:
        """End the card and tell what it saw."""
        self.close()
        facts = json.loads(self._log.read_text())
        facts["starts"] = [tuple(start) for start in facts["starts"]]
        return CardLog(**facts)

    def close(self) -> None:
        """End the card; safe to call twice."""
        if self._process.poll() is None:
            self._process.send_signal(signal.SIGCONT)
            self._process.terminate()
        self._process.wait(10)
        assert self._process.stdout is not None
        self._process.stdout.close()

    def captured(self) -> NDArray[np.float32]:
        """Samples taken so far (all of them after `finish`), shape (frames, 2)."""
        return captured(self.capture)


class _Pacer:
    """Takes one period of frames per tick; a tick that finds too few is an underrun."""

    def __init__(self, fifo: str, capture: str, buffer_bytes: int, rate_hz: int) -> None:
        # Read and write: no writer has to wait in open(), and no end of file comes between streams.
        self._descriptor = os.open(fifo, os.O_RDWR | os.O_NONBLOCK)
        fcntl.fcntl(self._descriptor, SET_PIPE_SIZE, buffer_bytes)
        self._capture = os.open(capture, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        self._period_s = PERIOD_FRAMES / rate_hz
        self._buffer = bytearray()
        self._frames = 0
        self._silent_frames = 0
        self.is_asked_to_stop = False
        self.starts: list[tuple[float, int]] = []
        self.underruns = 0
        self.missing_frames = 0
        self.latest_tick_s = 0.0

    def run(self) -> None:
        while not self.is_asked_to_stop:
            if select.select([self._descriptor], [], [], 0.2)[0]:
                self._play_one_stream()
        # What still waits in the FIFO was played by the program: nothing of it is lost.
        self._silent_frames = 0
        while self._take():
            pass
        os.close(self._capture)

    def _play_one_stream(self) -> None:
        start_s, ticks = time.monotonic(), 0
        self.starts.append((start_s, self._frames))
        self._silent_frames = 0
        while not self.is_asked_to_stop:
            self._tick()
            if self._silent_frames * self._period_s > IDLE_S * PERIOD_FRAMES:
                return
            ticks += 1
            ahead_s = start_s + ticks * self._period_s - time.monotonic()
            if ahead_s > 0:
                time.sleep(ahead_s)
            else:
                self.latest_tick_s = max(self.latest_tick_s, -ahead_s)
            if ahead_s < -IDLE_S:
                # Frozen and thawed: a real card would go on from now, not make up for it.
                return

    def _tick(self) -> None:
        taken = self._take()
        self._silent_frames += PERIOD_FRAMES - taken

    def _take(self) -> int:
        need = PERIOD_FRAMES * FRAME_BYTES
        with contextlib.suppress(BlockingIOError):
            while len(self._buffer) < need:
                self._buffer += os.read(self._descriptor, need - len(self._buffer))
        have = len(self._buffer) // FRAME_BYTES
        if have and self._silent_frames:
            # The stream went on after the silence: it had run dry.
            self.underruns += 1
            self.missing_frames += self._silent_frames
            self._keep(bytes(self._silent_frames * FRAME_BYTES))
            self._silent_frames = 0
        self._keep(bytes(self._buffer[: have * FRAME_BYTES]))
        del self._buffer[: have * FRAME_BYTES]
        return have

    def _keep(self, data: bytes) -> None:
        os.write(self._capture, data)
        self._frames += len(data) // FRAME_BYTES


def main() -> None:
    """Run the card: FIFO CAPTURE LOG BUFFER_BYTES RATE_HZ."""
    fifo, capture, log, buffer_bytes, rate_hz = sys.argv[1:]
    pacer = _Pacer(fifo, capture, int(buffer_bytes), int(rate_hz))

    def stop(_number: int, _frame: object) -> None:
        pacer.is_asked_to_stop = True

    signal.signal(signal.SIGTERM, stop)
    sys.stdout.write("ready\n")
    sys.stdout.flush()
    with contextlib.suppress(OSError):
        os.sched_setscheduler(0, os.SCHED_RR, os.sched_param(20))
    pacer.run()
    facts = {
        "starts": pacer.starts,
        "underruns": pacer.underruns,
        "missing_frames": pacer.missing_frames,
        "latest_tick_s": pacer.latest_tick_s,
        "rate_hz": int(rate_hz),
    }
    Path(log).write_text(json.dumps(facts))


if __name__ == "__main__":
    main()
