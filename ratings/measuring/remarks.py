"""What quality control has to say about a measured recording."""

from collections.abc import Iterator, Sequence

import numpy as np

from ratings.acoustics.faults.fault_meter import RunFaults
from ratings.acoustics.faults.speed_faults import speed_faults
from ratings.acoustics.faults.words import run_remarks, speed_remarks
from ratings.acoustics.levels import LOUDEST_CABIN_DB_A, QUIETEST_CABIN_DB_A
from ratings.acoustics.rolling.line_confounders import PassedOver
from ratings.acoustics.rolling.pattern_orders import SLIP_SHARE, PitchOrder
from ratings.measuring.settings import STEADY_RANGE_KM_H, MeasuringSettings
from ratings.study.figures import Remark

_BEYOND_S = 1.0
_TOLD_SLIP_PERCENT = 0.5


def remarks_of(
    faults: RunFaults,
    numbers: Sequence[int],
    is_level_true: Sequence[bool],
    leq_a_db: Sequence[float],
    duration_s: float,
    settings: MeasuringSettings,
    orders: Sequence[PitchOrder] = (),
    passed_over: Sequence[Sequence[PassedOver]] = (),
) -> tuple[Remark, ...]:
    """Return the remarks on a recording, those on single channels by their number from 1.

    Parameters
    ----------
    leq_a_db
        A-weighted equivalent level of each channel, re 20 uPa where it is calibrated.
    orders
        Of the tread pattern, where they were looked for.
    passed_over
        By channel, what stands out near the cavity's line and is taken for something else.
    """
    return (
        *run_remarks(faults, numbers),
        *_calibration(numbers, is_level_true),
        *_plausible(numbers, is_level_true, leq_a_db),
        *_speed(duration_s, settings),
        *_orders(numbers, orders),
        *_passed_over(numbers, passed_over),
    )


def _calibration(numbers: Sequence[int], is_level_true: Sequence[bool]) -> Iterator[Remark]:
    if not any(is_level_true):
        yield Remark(
            "note",
            "Not calibrated: the true level is unknown. Levels are relative to full scale, a "
            "sample of 1.0, and there is no loudness, sharpness or roughness.",
        )
        return
    for number, is_known in zip(numbers, is_level_true, strict=True):
        if not is_known:
            yield Remark(
                "note",
                f"Channel {number} is not calibrated: its true level is unknown.",
                number,
            )


def _plausible(
    numbers: Sequence[int], is_level_true: Sequence[bool], leq_a_db: Sequence[float]
) -> Iterator[Remark]:
    for number, is_known, level_db in zip(numbers, is_level_true, leq_a_db, strict=True):
        is_plausible = QUIETEST_CABIN_DB_A <= level_db <= LOUDEST_CABIN_DB_A
        # Silence is told as a fault.
        if is_known and np.isfinite(level_db) and not is_plausible:
            yield Remark(
                "doubtful",
                f"Channel {number} has {level_db:.0f} dB(A): cabins have "
                f"{QUIETEST_CABIN_DB_A:.0f} to {LOUDEST_CABIN_DB_A:.0f}. Check its calibration.",
                number,
            )


def _speed(duration_s: float, settings: MeasuringSettings) -> Iterator[Remark]:
    trace = settings.speed
    if trace is None:
        return
    late_s = float(trace.times_s[0])
    early_s = duration_s - float(trace.times_s[-1])
    if max(late_s, early_s) > _BEYOND_S:
        yield Remark(
            "doubtful",
            f"The speed is known from {late_s:.1f} to {trace.times_s[-1]:.1f} s and the sound "
            f"lasts {duration_s:.1f} s: check that they belong together.",
        )
    if settings.speed_range_km_h > STEADY_RANGE_KM_H and not settings.is_coast_down:
        why = "by too little" if trace.is_falling else "without falling all the way"
        yield Remark(
            "doubtful",
            f"The speed moves between {trace.speed_km_h.min():.1f} and "
            f"{trace.speed_km_h.max():.1f} km/h {why}: the run is measured neither as steady nor "
            "as a coast-down.",
        )
    if settings.speed_km_h is None or settings.is_coast_down:
        return
    inside = (trace.times_s >= 0) & (trace.times_s <= duration_s)
    if np.count_nonzero(inside) >= 2:
        yield from speed_remarks(speed_faults(trace, settings.speed_km_h, "steady"))


def _passed_over(
    numbers: Sequence[int], passed_over: Sequence[Sequence[PassedOver]]
) -> Iterator[Remark]:
    for number, others in zip(numbers, passed_over, strict=False):
        for other in others:
            yield Remark(
                "note",
                f"Channel {number}: what stands out at {other.frequency_hz:.0f} Hz "
                f"{_kind_words(other)}: it is not taken for the cavity line.",
                number,
            )


def _kind_words(other: PassedOver) -> str:
    if other.spacing_hz is not None:
        return f"looks like an order series, a line every {other.spacing_hz:.1f} Hz"
    if other.moved_hz is not None:
        way = "up" if other.moved_hz > 0 else "down"
        return (
            f"moves {way} by {abs(other.moved_hz):.0f} Hz from the beginning to the end, as orders "
            "do when the speed changes and resonances do not"
        )
    if other.why == "passing":
        return "is there for a small part of the time only"
    return "is a steady tone"


def _orders(numbers: Sequence[int], orders: Sequence[PitchOrder]) -> Iterator[Remark]:
    # Harmonics that the sample rate does not carry were not looked for.
    orders = [each for each in orders if np.isfinite(each.prominence_db).any()]
    if not orders:
        return
    clear = [each for each in orders if each.stands_out.any()]
    if not clear:
        expected = ", ".join(f"{each.frequency_hz:.0f}" for each in orders)
        yield Remark(
            "note",
            f"No pattern order stands out within {100 * SLIP_SHARE:.0f} % of {expected} Hz: "
            "no level is given.",
        )
        return
    first = clear[0]
    column = int(np.argmax(np.where(first.stands_out, first.prominence_db, -np.inf)))
    slip_percent = float(first.slip_percent[column])
    if abs(slip_percent) >= _TOLD_SLIP_PERCENT:
        way, why = ("above", "worn tread, or ") if slip_percent > 0 else ("below", "")
        beside = (
            " Orders beside it stand out too, as with unequal pitches: it may be one of them."
            if first.has_neighbours[column]
            else ""
        )
        yield Remark(
            "note",
            f"Pattern order {first.harmonic} lies {abs(slip_percent):.1f} % {way} where it is "
            f"expected and is read there: {why}speed, tyre size or pitch count not exact.{beside}",
            numbers[column],
        )
