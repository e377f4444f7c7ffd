"""The sound process: plays what its shared page says; started by `link.py`.

Orders come as lines of JSON on the standard input, reports go as lines of JSON to the standard
output. The process ends when its standard input closes.
"""

import contextlib
import gc
import json
import os
import queue
import sys
import threading
import time
from typing import Any

from app.playback.deck import Deck
from app.playback.memory import PairMemory, PairShape
from ratings.errors import PlaybackError

WATCH_S = 0.1
LONGEST_FAREWELL_S = 2.0
REAL_TIME_PRIORITY = 10
NICE_STEP = -10


def report(event: str, **facts: object) -> None:
    """Write one report for the window's process."""
    sys.stdout.write(json.dumps({"event": event, **facts}) + "\n")
    sys.stdout.flush()


class SoundProcess:
    """Obeys orders and watches the stream; the callback runs beside it in PortAudio's thread."""

    def __init__(self) -> None:
        # Imported here because the import fails where PortAudio is not installed.
        from app.playback.feed import Feed, Output

        self._output = Output(Feed())
        self._memory: PairMemory | None = None
        self._open_order: dict[str, Any] = {}
        self._is_told_alive = False
        self._is_told_dead = False

    def obey(self, order: dict[str, Any]) -> None:
        """Carry out one order, or report why not."""
        try:
            match order["do"]:
                case "open":
                    self._open(order)
                case "close":
                    self._output.close()
                case "load":
                    self._load(order)
                case "unload":
                    self._unload()
                case "devices":
                    self._list_devices()
        except PlaybackError as refusal:
            report("refused", words=refusal.what_happened)

    def watch(self) -> None:
        """Report once when the stream settles, stops or stalls, and again when that changes."""
        if not self._output.is_open:
            return
        if not self._is_told_dead and not self._output.is_alive():
            self._is_told_dead, self._is_told_alive = True, False
            report("stalled" if self._output.is_running() else "stopped")
        elif not self._is_told_alive and self._output.has_settled():
            self._is_told_dead, self._is_told_alive = False, True
            report("running")

    def finish(self) -> None:
        """Close the stream and let go of the memory."""
        self._output.close()
        self._unload()

    def _open(self, order: dict[str, Any]) -> None:
        self._is_told_alive = self._is_told_dead = False
        self._open_order = order
        device, latency_s = self._output.open(
            order["device"],
            order["sample_rate_hz"],
            order["block_frames"],
            order["latency_s"],
            order["only"],
        )
        self._output.go_on()
        report("opened", device=device.name, identity=device.identity, latency_s=latency_s)

    def _load(self, order: dict[str, Any]) -> None:
        shape = PairShape(**order["shape"])
        self._unload()
        try:
            self._memory = memory = PairMemory.attach(order["memory"], shape)
        except FileNotFoundError:
            # The window has already gone on to another pair; its order follows.
            return
        self._output.feed.deck = Deck(memory)
        gc.freeze()
        report("loaded", memory=order["memory"])

    def _unload(self) -> None:
        self._output.come_to_rest()
        self._output.feed.deck = None
        if self._memory is not None:
            self._output.wait_for_next_call()
            self._memory.close()
            self._memory = None

    def _list_devices(self) -> None:
        from app.playback.devices import found_devices, look_again

        was_open = self._output.is_open
        # Looking again closes the stream: while something sounds, the known list must do.
        if not was_open or self._output.is_idle():
            self._output.close()
            look_again()
        devices = [[device.name, device.is_default] for device in found_devices()]
        report("devices", devices=devices)
        if was_open and not self._output.is_open:
            self._open(self._open_order)


def run() -> None:
    """Serve the standard input until it closes or says quit."""
    scheduling = ask_for_precedence()
    gc.disable()
    sys.setswitchinterval(0.001)
    try:
        process = SoundProcess()
    except OSError:
        report("no_library")
        return
    report("ready", scheduling=scheduling)
    orders: queue.SimpleQueue[dict[str, Any]] = queue.SimpleQueue()
    threading.Thread(target=_read_orders, args=(orders,), daemon=True).start()
    while True:
        order = _next_order(orders)
        if order["do"] == "quit":
            break
        process.obey(order)
        process.watch()
    process.finish()


def ask_for_precedence() -> str:
    """Ask for real-time scheduling, else for a better nice value; go on without either."""
    if hasattr(os, "sched_setscheduler"):
        with contextlib.suppress(OSError):
            os.sched_setscheduler(0, os.SCHED_RR, os.sched_param(REAL_TIME_PRIORITY))
            return "real-time"
    if hasattr(os, "nice"):
        with contextlib.suppress(OSError):
            os.nice(NICE_STEP)
            return "nice"
    return "normal"


def _next_order(orders: "queue.SimpleQueue[dict[str, Any]]") -> dict[str, Any]:
    try:
        return orders.get(timeout=WATCH_S)
    except queue.Empty:
        return {"do": "nothing"}


def _read_orders(orders: "queue.SimpleQueue[dict[str, Any]]") -> None:
    try:
        # A window that was killed while it wrote leaves half a line.
        with contextlib.suppress(ValueError):
            for line in sys.stdin:
                orders.put(json.loads(line))
    finally:
        orders.put({"do": "quit"})
        # A device that no longer answers can hold up its closing for ever.
        time.sleep(LONGEST_FAREWELL_S)
        os._exit(1)
