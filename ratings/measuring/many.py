"""Many recordings measured, spread over processes."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from ratings.errors import RatingsError
from ratings.measuring.measure import measure
from ratings.measuring.measurement import Measurement
from ratings.measuring.settings import MeasuringSettings


@dataclass(frozen=True, slots=True)
class Job:
    """A recording to measure; see `measure` for the parts."""

    path: Path
    settings: MeasuringSettings
    pa_per_full_scale: tuple[float | None, ...] | None = None
    numbers: tuple[int, ...] | None = None


def measure_many(
    jobs: Sequence[Job],
    processes: int | None = -1,
    on_done: Callable[[int, int], None] | None = None,
) -> list[Measurement | RatingsError]:
    """Measure recordings side by side; one that cannot be used does not stop the others.

    Parameters
    ----------
    processes
        Handed to joblib as ``n_jobs``: -1 takes every processor, None what a surrounding
        ``joblib.parallel_config`` says, so that a cluster takes the work by configuration alone.
    on_done
        Called with how many are done and how many there are, in the calling thread.

    Returns
    -------
    list
        In the order of the jobs: a measurement, or the refusal that says why there is none.
    """
    from joblib import Parallel, delayed

    outcomes: list[Measurement | RatingsError] = []
    parallel = Parallel(n_jobs=processes, return_as="generator")
    for outcome in parallel(delayed(_measured)(job) for job in jobs):
        outcomes.append(outcome)
        if on_done is not None:
            on_done(len(outcomes), len(jobs))
    return outcomes


def _measured(job: Job) -> Measurement | RatingsError:
    try:
        return measure(job.path, job.settings, job.pa_per_full_scale, job.numbers, threads=1)
    except RatingsError as error:
        return error
