"""How a study that another program holds is waited for: between tries, never inside SQLite."""

import sqlite3
import threading
import time
from collections.abc import Callable
from typing import TypeVar

Result = TypeVar("Result")

#: How long a transaction waits for another program's. One entry takes some 10 ms, so that a panel
#: never waits this long: only a backup or a dead network does.
LONGEST_WAIT_S = 20.0
#: Between two tries: much shorter than an entry is noticed, much longer than a try takes.
_PAUSE_S = 0.02

#: Since when each thread has been waiting for a lock, by the monotonic clock.
_waiting_since: dict[int, float] = {}


def longest_wait_s() -> float:
    """Return how long the thread that has waited longest waits for a lock; 0 when none waits."""
    now = time.monotonic()
    return max((now - since for since in list(_waiting_since.values())), default=0.0)


def when_free(act: Callable[[], Result]) -> Result:
    """Do what a lock may be in the way of, again and again until it is free.

    Raises
    ------
    sqlite3.OperationalError
        When it was not free for `LONGEST_WAIT_S`, or for another reason than a lock.
    """
    began, thread = time.monotonic(), threading.get_ident()
    try:
        while True:
            try:
                return act()
            except sqlite3.OperationalError as problem:
                is_locked = problem.sqlite_errorname.startswith("SQLITE_BUSY")
                if not is_locked or time.monotonic() >= began + LONGEST_WAIT_S:
                    raise
            _waiting_since[thread] = began
            time.sleep(_PAUSE_S)
    finally:
        _waiting_since.pop(thread, None)
