"""Several passes over a recording at once, with one progress and one way to stop them."""

import threading
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor, wait

from ratings.errors import Cancelled
from ratings.study.progress import Progress

#: Called by a pass with the part of it that is done; raises Cancelled when it is to stop.
Report = Callable[[float], None]

_TOLD_EVERY_S = 0.1


def side_by_side(
    passes: Sequence[Callable[[Report], object]], words: str, progress: Progress, threads: int
) -> list[object]:
    """Run the passes and return their results in their order.

    `progress` is called in the calling thread only. The first error of any pass stops the others
    and is raised, as is whatever `progress` raises.
    """
    done = [0.0] * len(passes)
    is_stopped = threading.Event()

    def reporter(index: int) -> Report:
        def report(part: float) -> None:
            if is_stopped.is_set():
                raise Cancelled
            done[index] = part

        return report

    with ThreadPoolExecutor(min(threads, len(passes))) as pool:
        futures = [pool.submit(work, reporter(index)) for index, work in enumerate(passes)]
        try:
            waiting = set(futures)
            while waiting:
                finished, waiting = wait(waiting, _TOLD_EVERY_S)
                for future in finished:
                    future.result()
                progress(sum(done) / len(done), words)
        except BaseException:
            is_stopped.set()
            for future in futures:
                future.cancel()
            raise
    return [future.result() for future in futures]
