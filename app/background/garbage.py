"""Garbage collected on the window's thread only, while work runs on others.

Python collects wherever it happens to allocate. What a window has left behind holds objects of Qt,
some with timers: were they to die on a worker's thread, the window's thread could be just
delivering an event to them.
"""

import gc
from collections.abc import Callable

from PySide6.QtCore import QCoreApplication, QTimer
from shiboken6 import isValid

ROUND_MS = 200

_rounds: list[QTimer] = []


def collect_here_only(at_each_round: Callable[[], None]) -> None:
    """Collect on this thread until `collect_anywhere`; to be asked on the window's thread.

    Parameters
    ----------
    at_each_round
        Called every 200 ms, after what is young was collected.
    """
    if _rounds and isValid(_rounds[0]) and _rounds[0].isActive():
        return
    gc.disable()
    _rounds[:] = [QTimer(QCoreApplication.instance(), interval=ROUND_MS)]

    def go_round() -> None:
        # Not what is old: that takes longer than a window may stand still.
        gc.collect(1)
        at_each_round()

    _rounds[0].timeout.connect(go_round)
    _rounds[0].start()


def collect_anywhere() -> None:
    """Leave it to Python again, once no other thread is at work."""
    for timer in _rounds:
        timer.stop()
        timer.deleteLater()
    _rounds.clear()
    gc.enable()
