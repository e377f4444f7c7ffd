"""What a coast-down tells: laws over speed, ridges in the map, and what happens at one speed."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ratings.acoustics.rolling.coast_down import CoastDownMap
from ratings.acoustics.rolling.ridges import Ridge, find_ridges
from ratings.acoustics.rolling.speed_law import SpeedLaw
from ratings.acoustics.rolling.tonal_shifts import TonalShift, tonal_shifts
from ratings.study.figures import Remark
from ratings.study.tyre_size import TyreSize

_MOST_TOLD = 5


@dataclass(frozen=True, slots=True, eq=False)
class CoastDownFindings:
    """What was found in one channel.

    Attributes
    ----------
    law
        How the A-weighted level grows with speed.
    band_laws
        The same for every band, A-weighted, in the order of the bands.
    ridges, shifts
        Empty without a tyre size: what follows the wheel cannot be told from what does not.
    """

    law: SpeedLaw
    band_laws: tuple[SpeedLaw, ...]
    ridges: tuple[Ridge, ...]
    shifts: tuple[TonalShift, ...]


def coast_down_findings(
    coast_down: CoastDownMap, tyre: TyreSize | None
) -> tuple[CoastDownFindings, ...]:
    """Return what each channel of a coast-down tells."""
    return tuple(
        _of_channel(coast_down, tyre, channel) for channel in range(len(coast_down.level_db))
    )


def _of_channel(coast_down: CoastDownMap, tyre: TyreSize | None, channel: int) -> CoastDownFindings:
    ridges: tuple[Ridge, ...] = ()
    shifts: tuple[TonalShift, ...] = ()
    if tyre is not None:
        circumference_m = tyre.rolling_circumference_m
        ridges = find_ridges(coast_down, circumference_m, channel)
        shifts = tonal_shifts(coast_down, ridges, circumference_m, channel)
    return CoastDownFindings(
        law=coast_down.law(channel),
        band_laws=tuple(coast_down.law(channel, band) for band in range(len(coast_down.bands))),
        ridges=ridges,
        shifts=shifts,
    )


def shift_remarks(
    findings: Sequence[CoastDownFindings], numbers: Sequence[int], told: Sequence[int]
) -> Iterator[Remark]:
    """Tell what happens at one speed on the channels `told`, the strongest five of each."""
    for number, found in zip(numbers, findings, strict=True):
        if number not in told:
            continue
        strongest = sorted(found.shifts, key=lambda shift: -abs(shift.change_db))[:_MOST_TOLD]
        for shift in sorted(strongest, key=lambda shift: -shift.speed_km_h):
            yield Remark("note", f"Channel {number}: {shift_words(shift)}.", number)


def shift_words(shift: TonalShift) -> str:
    """Put one happening into words, as heard while the car slows down.

    Such as ``a 740 Hz tone starts at 60 km/h (8 dB above the level just before)``.
    """
    at, size = f"at {shift.speed_km_h:.0f} km/h", f"{abs(shift.change_db):.0f} dB"
    if shift.band is not None:
        return f"the {shift.band.replace('_', '-')} band swells {at}, {size} above its usual course"
    tone = f"a {shift.frequency_hz:.0f} Hz tone"
    if shift.kind == "jumps":
        return f"{tone} gets {size} {'louder' if shift.change_db > 0 else 'quieter'} {at}"
    starts = shift.kind == "appears"
    verb, when = ("starts", "before") if starts else ("stops", "after")
    return f"{tone} {verb} {at} ({size} above the level just {when})"
