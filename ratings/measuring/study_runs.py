"""The runs of a study measured, and their figures kept."""

from collections.abc import Callable, Sequence
from dataclasses import asdict

from ratings.errors import MeasurementError, RatingsError
from ratings.measuring.arrays import arrays_of
from ratings.measuring.coasting import shift_remarks
from ratings.measuring.figures import figures_of
from ratings.measuring.measure import measure
from ratings.measuring.settings import MeasuringSettings
from ratings.recordings.speed.sources import speed_over
from ratings.storage.recording_desk import RecordingDesk
from ratings.study.figures import EAR_ROLES, RUN_FIELD, UNHEARD_ROLES
from ratings.study.progress import Progress, quiet
from ratings.study.runs import Run
from ratings.study.speed_trace import SpeedTrace
from ratings.study.tyre_size import TyreSize, tyre_size


def measure_run(
    desk: RecordingDesk, recording_id: int, progress: Progress = quiet, threads: int = 2
) -> None:
    """Measure a run of a study and keep its figures, remarks, spectra and courses.

    Every channel that is a microphone is measured, with the study's bands, in a diffuse field.
    A speed that cannot be used is refused rather than passed over.

    Raises
    ------
    RecordingError
        When the recording or its speed's file cannot be used.
    MeasurementError
        When there is no microphone among its channels, or the speed makes no sense.
    Cancelled
        When `progress` asked for it; nothing is kept then.
    """
    channels = desk.channel_settings(recording_id)
    heard = [n for n, each in enumerate(channels, start=1) if each.role not in UNHEARD_ROLES]
    if not heard:
        raise MeasurementError(
            "None of this run's channels is a microphone.", "Say what its channels are."
        )
    ears = [number for number in heard if channels[number - 1].role in EAR_ROLES]
    path = desk.run_file(recording_id)
    settings = settings_of_run(desk, recording_id)
    factors = tuple(each.pa_per_full_scale for each in channels)
    measurement = measure(path, settings, factors, heard, progress, threads)
    desk.keep_measurement(
        recording_id,
        figures_of(measurement, ears),
        (
            *measurement.remarks,
            *shift_remarks(measurement.coasting, measurement.numbers, ears or heard[:1]),
        )
        if measurement.coasting
        else measurement.remarks,
        _kept(measurement.settings),
        arrays_of(measurement, ears),
        settings.bands.version,
    )


#: Measures one run and keeps it: desk, recording, progress.
MeasureRun = Callable[[RecordingDesk, int, Progress], None]


def measure_runs(
    desk: RecordingDesk,
    runs: Sequence[Run],
    progress: Progress = quiet,
    measure_one: MeasureRun = measure_run,
) -> tuple[tuple[Run, RatingsError], ...]:
    """Measure runs one after the other, and keep each as soon as it is measured.

    Parameters
    ----------
    progress
        Told of each run's share by its duration, in words such as ``Run 2 of 5: 417, ...``.

    Returns
    -------
    tuple
        Of (run, refusal): runs that could not be measured, which does not stop the others.

    Raises
    ------
    Cancelled
        When `progress` asked for it; the runs that were finished are kept.
    """
    total_s = sum(run.duration_s for run in runs) or 1.0
    done_s = 0.0
    refusals = []
    for place, run in enumerate(runs, start=1):
        words = f"Run {place} of {len(runs)}: {run.title}"
        before, share = done_s / total_s, run.duration_s / total_s
        progress(before, words)
        try:
            measure_one(desk, run.recording_id, _part_of(progress, words, before, share))
        except RatingsError as problem:
            refusals.append((run, problem))
        done_s += run.duration_s
    return tuple(refusals)


def _part_of(progress: Progress, words: str, before: float, share: float) -> Progress:
    """Place the steps of one run among those of all; the run's own words are left out."""
    return lambda part, _words: progress(before + share * part, words)


def settings_of_run(desk: RecordingDesk, recording_id: int) -> MeasuringSettings:
    """Return how a run is to be measured, from what its lead has said of it.

    The air in the tyres is taken for as warm as the air outside where only that is known.
    """
    run = next(each for each in desk.runs() if each.recording_id == recording_id)
    note, tread = desk.note(recording_id), desk.tread_of_run(recording_id)
    air_c = note.tyre_air_c if note.tyre_air_c is not None else note.air_c
    is_steady = run.condition.manoeuvre == "steady"
    return MeasuringSettings(
        field=RUN_FIELD,
        bands=desk.band_table(),
        tyre=_size_or_none(tread.size),
        air_c=20.0 if air_c is None else air_c,
        pitches=tread.pitches,
        speed=speed_of_run(desk, recording_id, run.duration_s),
        speed_km_h=run.condition.speed_km_h if is_steady else None,
    )


def speed_of_run(desk: RecordingDesk, recording_id: int, duration_s: float) -> SpeedTrace | None:
    """Return the speed over a run; None when nothing was said of it."""
    source = desk.speed_source(recording_id)
    if source is None:
        return None
    return speed_over(source, desk.run_file(recording_id), duration_s)


def _size_or_none(text: str) -> TyreSize | None:
    # A set may be described in words instead of a size: then no cavity line is predicted.
    try:
        return tyre_size(text)
    except MeasurementError:
        return None


def _kept(settings: MeasuringSettings) -> dict[str, object]:
    return {
        "field": settings.field,
        "tyre": None if settings.tyre is None else asdict(settings.tyre),
        "pitches": settings.pitches,
        "air_c": settings.air_c,
        "steady_speed_km_h": settings.steady_speed_km_h,
        "is_coast_down": settings.is_coast_down,
    }
