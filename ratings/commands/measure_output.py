"""A measurement in print: as figures for other programs, and as tables for a person."""

import math
from collections.abc import Iterator, Mapping, Sequence

from ratings.acoustics.tones.prominent import Tone
from ratings.commands.common_options import Json, aligned
from ratings.measuring.coasting import CoastDownFindings, shift_words
from ratings.measuring.measurement import ChannelFigures, Measurement, PatternOrder
from ratings.study.wording import counted


def as_json(measurement: Measurement) -> Json:
    """Return the figures by the names of the contract; what is undefined or silent is null."""
    return {
        "file": measurement.name,
        "sample_rate_hz": measurement.sample_rate_hz,
        "duration_s": measurement.duration_s,
        "channels": [
            _channel_json(channel, measurement.settings.field)
            for channel in measurement.by_channel()
        ],
        "remarks": [
            {"severity": r.severity, "channel": r.channel, "sentence": r.sentence}
            for r in measurement.remarks
        ],
    }


#: Keys of levels that do not name a weighting, as those with `_a_` and `_c_` do.
_UNWEIGHTED = (
    "leq_db",
    "third_octave_db",
    "bands_db",
    "tones.level_db",
    "cavity_line.level_db",
    "pattern_orders.level_db",
)
_LEVELS = ("leq_db", "leq_a_db", "leq_c_db", "fast_max_a_db", "slow_max_a_db")
_EXCEEDED = ("fast_exceeded_a_db", "slow_exceeded_a_db")
_LOUDNESS = ("n_sone", "n5_sone", "n10_sone", "n50_sone", "n90_sone", "nmax_sone")


def _channel_json(channel: ChannelFigures, field: str) -> Json:
    hearing = channel.hearing
    return {
        "channel": channel.number,
        "level_true": channel.is_level_true,
        "unweighted": list(_UNWEIGHTED),
        **{name: _number(getattr(channel, name)) for name in _LEVELS},
        **{name: _numbers(getattr(channel, name)) for name in _EXCEEDED},
        "clipped_samples": channel.clipped_samples,
        "third_octave_db": _numbers(channel.third_octave_db),
        "bands_db": _numbers(channel.band_db),
        "bands_a_db": _numbers(channel.band_a_db),
        "loudness": None
        if hearing is None
        else {"field": field, **{name: _number(getattr(hearing, name)) for name in _LOUDNESS}},
        "sharpness_field": None if hearing is None else field,
        "sharpness_acum": None if hearing is None else _number(hearing.sharpness_acum),
        "roughness_asper": None if hearing is None else _number(hearing.roughness_asper),
        "tones": [_tone_json(tone) for tone in channel.tones],
        "cavity_line": _cavity_line_json(channel),
        "pattern_orders": [_order_json(order) for order in channel.pattern_orders],
        "coast_down": None if channel.coasting is None else _coasting_json(channel.coasting),
    }


def _numbers(values: Mapping[str, float]) -> dict[str, float | None]:
    return {key: _number(value) for key, value in values.items()}


def _tone_json(tone: Tone) -> Json:
    return {
        "hz": tone.frequency_hz,
        "level_db": _number(tone.level_db),
        "tone_to_noise_db": _number(tone.tone_to_noise_db),
        "prominence_db": _number(tone.prominence_db),
        "is_prominent": tone.is_prominent_by_tnr or tone.is_prominent_by_pr,
    }


def _cavity_line_json(channel: ChannelFigures) -> Json:
    line = channel.cavity_line
    return {
        "predicted_hz": list(channel.predicted_cavity_hz),
        "found_hz": None if line is None else line.strongest.frequency_hz,
        "level_db": None if line is None else _number(line.level_db),
        "height_db": None if line is None else line.strongest.prominence_db,
        "lines_hz": [] if line is None else [each.frequency_hz for each in line.lines],
        "passed_over": [
            {
                "hz": each.frequency_hz,
                "why": each.why,
                "spacing_hz": each.spacing_hz,
                "moved_hz": each.moved_hz,
            }
            for each in channel.cavity_passed_over
        ],
    }


def _order_json(order: PatternOrder) -> Json:
    return {
        "harmonic": order.harmonic,
        "hz": _number(order.frequency_hz),
        "order": order.order,
        "found_order": _number(order.found_order),
        "found_hz": _number(order.frequency_hz * order.found_order / order.order),
        "slip_percent": _number(order.slip_percent),
        "level_db": _number(order.level_db),
        "height_db": _number(order.prominence_db),
        "stands_out": order.stands_out,
    }


def _coasting_json(found: CoastDownFindings) -> Json:
    return {
        "slope_a_db_per_decade": _number(found.law.slope_db_per_decade),
        "slope_a_error_db": _number(found.law.slope_error_db),
        "level_a_at_80_km_h_db": _number(found.law.level_at_80_db),
        "ridges": [
            {
                "follows": "speed" if ridge.kind == "order" else "nothing",
                "order": ridge.order,
                "hz_at_rest": ridge.frequency_hz,
                "turns": ridge.turns,
                "height_db": _number(ridge.prominence_db),
                "low_km_h": ridge.low_km_h,
                "high_km_h": ridge.high_km_h,
            }
            for ridge in found.ridges
        ],
        "shifts": [
            {
                "kind": shift.kind,
                "speed_km_h": shift.speed_km_h,
                "hz": _number(shift.frequency_hz),
                "change_db": _number(shift.change_db),
                "band": shift.band,
            }
            for shift in found.shifts
        ],
    }


def _number(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else float(value)


def as_text(measurement: Measurement, calibration_words: str) -> str:
    """Return the figures as tables, one column for each channel."""
    channels = list(measurement.by_channel())
    lines = [
        f"{measurement.name}: {measurement.duration_s:.2f} s at {measurement.sample_rate_hz} Hz, "
        f"{counted(len(channels), 'channel')}; {calibration_words}",
        "",
    ]
    lines += [f"  {remark.severity}: {remark.sentence}" for remark in measurement.remarks]
    lines += [""] * bool(measurement.remarks)
    lines += [f"  {line}" for line in aligned(list(_rows(measurement, channels)))]
    for channel in channels:
        lines += [f"  channel {channel.number}: {line}" for line in _lines_of(channel)]
    return "\n".join(lines) + "\n"


Row = tuple[str, ...]


def _rows(measurement: Measurement, channels: Sequence[ChannelFigures]) -> Iterator[Row]:
    def row(title: str, values: Sequence[float | None], digits: int = 1) -> Row:
        return (title, *("-" if _number(v) is None else f"{v:.{digits}f}" for v in values))

    reference = "dB" if all(channel.is_level_true for channel in channels) else "dB re full scale"
    yield ("channel", *(str(channel.number) for channel in channels))
    if not all(c.is_level_true for c in channels) and any(c.is_level_true for c in channels):
        reference = "dB, or dB re full scale"
        known = ("yes" if channel.is_level_true else "no" for channel in channels)
        yield ("calibrated", *known)
    yield row(f"level, unweighted ({reference})", [c.leq_db for c in channels])
    yield row("level, A-weighted", [c.leq_a_db for c in channels])
    yield row("level, C-weighted", [c.leq_c_db for c in channels])
    yield row("maximum level, Fast, A-weighted", [c.fast_max_a_db for c in channels])
    yield row("maximum level, Slow, A-weighted", [c.slow_max_a_db for c in channels])
    for weighting in ("fast", "slow"):
        exceeded = [getattr(channel, f"{weighting}_exceeded_a_db") for channel in channels]
        for key in exceeded[0]:
            title = f"{key.upper()}, {weighting.capitalize()}, A-weighted"
            yield row(title, [own[key] for own in exceeded])
    for band in measurement.settings.bands.bands:
        values = [c.band_db[band.key] for c in channels]
        yield row(f"{band.name.lower()} band, {band.range_text}, unweighted", values)
    if measurement.hearing is not None:
        hearing = [channel.hearing for channel in channels]
        for title, name, digits in _HEARING_ROWS:
            named = title.format(field=f"{measurement.settings.field} field")
            yield row(named, [None if h is None else getattr(h, name) for h in hearing], digits)
    for order, each in _by_pattern_order(channels):
        where = f"pattern order {order.harmonic}, expected {order.frequency_hz:.0f} Hz"
        # Over a coast-down an order sweeps: its frequency is the one at the mean speed.
        where += " on average" * measurement.settings.is_coast_down + ", unweighted"
        yield (
            where,
            *(f"{o.level_db:.1f}" if o.stands_out else "does not stand out" for o in each),
        )
        yield row("  above its neighbours", [own.prominence_db for own in each])
        yield row("  slip from the expected order (%)", [own.slip_percent for own in each])
    for name in channels[0].third_octave_db:
        yield row(
            f"third octave {name} Hz, unweighted", [c.third_octave_db[name] for c in channels]
        )


def _by_pattern_order(
    channels: Sequence[ChannelFigures],
) -> Iterator[tuple[PatternOrder, tuple[PatternOrder, ...]]]:
    for each in zip(*(channel.pattern_orders for channel in channels), strict=True):
        if any(_number(own.prominence_db) is not None for own in each):
            yield each[0], each


_HEARING_ROWS = (
    ("loudness N, {field} (sone)", "n_sone", 2),
    ("loudness N5, {field} (sone)", "n5_sone", 2),
    ("loudness N10, {field} (sone)", "n10_sone", 2),
    ("loudness N50, {field} (sone)", "n50_sone", 2),
    ("loudness N90, {field} (sone)", "n90_sone", 2),
    ("loudness, highest, {field} (sone)", "nmax_sone", 2),
    ("sharpness, {field} (acum)", "sharpness_acum", 2),
    ("roughness (asper)", "roughness_asper", 3),
)


def _lines_of(channel: ChannelFigures) -> Iterator[str]:
    predicted = " and ".join(f"{hz:.0f}" for hz in channel.predicted_cavity_hz)
    expected = f" (predicted {predicted} Hz)" if predicted else ""
    line = channel.cavity_line
    if line is None:
        yield f"cavity line: none found{expected}"
    else:
        found = " and ".join(f"{each.frequency_hz:.1f}" for each in line.lines)
        yield (
            f"cavity line: {found} Hz, {line.level_db:.1f} dB unweighted, "
            f"{line.strongest.prominence_db:.1f} dB above the background{expected}"
        )
    if channel.coasting is not None:
        yield from _coasting_lines(channel.coasting)
    for tone in channel.tones:
        is_prominent = tone.is_prominent_by_tnr or tone.is_prominent_by_pr
        yield (
            f"tone: {tone.frequency_hz:.1f} Hz, {tone.level_db:.1f} dB unweighted, "
            f"tone-to-noise ratio {tone.tone_to_noise_db:.1f} dB"
            f"{', prominent' if is_prominent else ''}"
        )


def _coasting_lines(found: CoastDownFindings) -> Iterator[str]:
    yield (
        f"coast-down: the A-weighted level rises by {found.law.slope_db_per_decade:.1f} "
        f"+/- {found.law.slope_error_db:.1f} dB per tenfold speed"
    )
    for ridge in found.ridges:
        where = (
            f"order {ridge.order:.1f} of the wheel"
            if ridge.order is not None
            else f"{ridge.frequency_hz:.0f} Hz, whatever the speed"
        )
        yield (
            f"tone at {where}, {ridge.prominence_db:.0f} dB high, from {ridge.high_km_h:.0f} "
            f"down to {ridge.low_km_h:.0f} km/h"
        )
    for shift in found.shifts:
        yield shift_words(shift)
