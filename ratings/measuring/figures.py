"""A measurement as rows: every figure by channel, and as the mean of the ears."""

import math
from collections.abc import Callable, Iterable, Iterator, Sequence

from ratings.acoustics.rolling.cavity_line import CavityLine
from ratings.measuring.cavity import cavity_search
from ratings.measuring.measurement import ChannelFigures, Measurement
from ratings.study.figures import EARS, Figure

_NO_LEVELS = ("dB over background", "dB per decade")


def figures_of(measurement: Measurement, ear_numbers: Sequence[int] = ()) -> tuple[Figure, ...]:
    """Return the figures of every channel, and their means over the ears.

    Parameters
    ----------
    ear_numbers
        Channels at the driver's ears or of the binaural pair, counted from 1; those that were not
        measured are passed over.

    Notes
    -----
    The mean of ears is the mean of powers for levels (what one microphone would read that took
    both in turn) and the plain mean for sone, acum, asper and hertz. It is given only where
    every ear has the figure, and all are calibrated or none is. The cavity line of the ears is
    looked for in their mean power: the strongest line of one may be the other of the pair.
    """
    by_channel = list(measurement.by_channel())
    figures = [figure for channel in by_channel for figure in _channel_figures(channel)]
    ears = [channel for channel in by_channel if channel.number in ear_numbers]
    return (*figures, *_means(ears), *_cavity_of_ears(measurement, ears))


def _channel_figures(channel: ChannelFigures) -> Iterator[Figure]:
    name = str(channel.number)
    for key, unit, value in _values(channel):
        if not math.isnan(value):
            yield Figure(name, key, unit, value)


def _values(channel: ChannelFigures) -> Iterator[tuple[str, str, float]]:
    plain, a_weighted, c_weighted = (
        ("dB", "dB(A)", "dB(C)")
        if channel.is_level_true
        else ("dB re full scale", "dB(A) re full scale", "dB(C) re full scale")
    )
    yield "leq", plain, channel.leq_db
    yield "leq_a", a_weighted, channel.leq_a_db
    yield "leq_c", c_weighted, channel.leq_c_db
    yield "fast_max_a", a_weighted, channel.fast_max_a_db
    yield "slow_max_a", a_weighted, channel.slow_max_a_db
    for key, value in channel.fast_exceeded_a_db.items():
        yield f"fast_{key}_a", a_weighted, value
    for key, value in channel.slow_exceeded_a_db.items():
        yield f"slow_{key}_a", a_weighted, value
    for key, value in channel.band_db.items():
        yield f"band_{key}", plain, value
    for key, value in channel.band_a_db.items():
        yield f"band_{key}_a", a_weighted, value
    if channel.hearing is not None:
        yield "loudness_n", "sone", channel.hearing.n_sone
        yield "loudness_n5", "sone", channel.hearing.n5_sone
        yield "loudness_n10", "sone", channel.hearing.n10_sone
        yield "loudness_n50", "sone", channel.hearing.n50_sone
        yield "loudness_n90", "sone", channel.hearing.n90_sone
        yield "loudness_nmax", "sone", channel.hearing.nmax_sone
        yield "sharpness", "acum", channel.hearing.sharpness_acum
        yield "roughness", "asper", channel.hearing.roughness_asper
    yield from _cavity_values(channel.cavity_line, plain)
    for order in channel.pattern_orders:
        yield f"pattern_order_{order.harmonic}", plain, order.level_db
        yield f"pattern_order_{order.harmonic}_slip", "%", order.slip_percent
    if channel.coasting is not None:
        yield "speed_slope_a", "dB per decade", channel.coasting.law.slope_db_per_decade
    for key, value in channel.third_octave_db.items():
        yield f"third_octave_{key}", plain, value


def _cavity_values(line: CavityLine | None, unit: str) -> Iterator[tuple[str, str, float]]:
    if line is None:
        return
    yield "cavity_line_hz", "Hz", line.strongest.frequency_hz
    yield "cavity_line_level", unit, line.level_db
    yield "cavity_line_height", "dB over background", line.strongest.prominence_db
    for side, each in (("lower", line.lower), ("upper", line.upper)):
        if each is not None:
            yield f"cavity_line_{side}_hz", "Hz", each.frequency_hz
            yield f"cavity_line_{side}_level", unit, each.level_db


def _means(ears: Sequence[ChannelFigures]) -> Iterator[Figure]:
    if not ears:
        return
    by_key: dict[str, list[tuple[str, float]]] = {}
    for ear in ears:
        for figure in _channel_figures(ear):
            if figure.key.startswith("cavity_line_"):
                continue
            by_key.setdefault(figure.key, []).append((figure.unit, figure.value))
    for key, found in by_key.items():
        units = {unit for unit, _ in found}
        if len(found) < len(ears) or len(units) > 1:
            continue
        unit = units.pop()
        yield Figure(EARS, key, unit, mean_of(unit)([value for _, value in found]))


def _cavity_of_ears(measurement: Measurement, ears: Sequence[ChannelFigures]) -> Iterator[Figure]:
    if not ears or len({ear.is_level_true for ear in ears}) > 1:
        return
    columns = [measurement.numbers.index(ear.number) for ear in ears]
    found = cavity_search(measurement.spectrum, measurement.prediction, columns)
    unit = "dB" if ears[0].is_level_true else "dB re full scale"
    for key, own_unit, value in _cavity_values(found.line, unit):
        yield Figure(EARS, key, own_unit, value)


def mean_of(unit: str) -> Callable[[Iterable[float]], float]:
    """Return how channels are averaged in a unit: by power for levels, else plainly."""
    is_level = unit.startswith("dB") and unit not in _NO_LEVELS
    return _power_mean_db if is_level else _plain_mean


def _power_mean_db(levels_db: Iterable[float]) -> float:
    powers = [10 ** (level_db / 10) for level_db in levels_db]
    mean = sum(powers) / len(powers)
    return 10 * math.log10(mean) if mean > 0 else -math.inf


def _plain_mean(values: Iterable[float]) -> float:
    every = list(values)
    return sum(every) / len(every)
