"""Each fault as a sentence that a driver understands, with what to do about it."""

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from ratings.acoustics.faults.channel_faults import ChannelFaults, Occurrences, RunFaults
from ratings.acoustics.faults.repeat_faults import RepeatFault
from ratings.acoustics.faults.speed_faults import SpeedFaults
from ratings.study.figures import SEVERITIES, Remark, Severity

#: The limits here are common practice, no source.
SHORTEST_RUN_S = 5.0
_SHORTEST_AT_ALL_S = 1.0
_OFFSET_NOTED, _OFFSET_DOUBTFUL = 0.1, 1.0
_MANY_CLIPPED = 10
#: What is lost so near to an end of a run is mended by trimming; our judgement.
_TRIMMED_S, _TRIMMED_SHARE = 2.0, 0.1
_NUMBER = re.compile(r"\d+(?:\.\d+)?(?: times)?|\bonce\b")


def run_remarks(faults: RunFaults, numbers: Sequence[int] = ()) -> tuple[Remark, ...]:
    """Tell what is wrong with a run's signal, the whole run first, then by channel.

    Parameters
    ----------
    numbers
        Numbers by which the channels go, counted from 1; 1, 2, 3 ... when not given.
    """
    known = tuple(numbers) or tuple(range(1, len(faults.channels) + 1))
    remarks = [*_length_remarks(faults.duration_s), *_pair_remarks(faults, known)]
    for number, channel in zip(known, faults.channels, strict=True):
        remarks += [
            Remark(severity, f"Channel {number} {text}", number)
            for severity, text in _channel_texts(channel, faults.duration_s)
        ]
    return tuple(remarks)


def speed_remarks(faults: SpeedFaults) -> tuple[Remark, ...]:
    """Tell how the driven speed differs from the plan; nothing when it does not."""
    if not faults.is_off:
        return ()
    if faults.manoeuvre == "coast-down":
        return _coast_down_remarks(faults)
    ends = f"{faults.lowest_km_h:.1f} to {faults.highest_km_h:.1f} km/h"
    held = f"{faults.wanted_km_h:g} +/- {faults.tolerance_km_h:g} km/h"
    first = (
        f", first at {_seconds(faults.first_outside_s)}"
        if faults.first_outside_s is not None
        else ""
    )
    if faults.outside_s > 0.0:
        first = f" for {faults.outside_s:.1f} s{first}"
    text = f"The speed was {ends} and left {held}{first}: drive again, or cut where it was held."
    return (Remark("doubtful", text),)


def repeat_remarks(faults: Sequence[RepeatFault]) -> tuple[Remark, ...]:
    """Tell in which bands the runs of one condition lie too far apart; runs count from 1.

    One line for each run that is farthest from the others, with the band where it is worst.
    """
    by_run: dict[int | None, list[RepeatFault]] = {}
    for fault in sorted(faults, key=lambda each: -each.range_db / each.limit_db):
        by_run.setdefault(fault.farthest_run, []).append(fault)
    remarks = []
    for run, (worst, *others) in by_run.items():
        odd = "drive one more run to see which is right"
        if run is not None:
            odd = f"run {run + 1} is farthest from the others, listen to it"
        more = ""
        if others:
            more = f", and too far in {len(others)} more {'band' if len(others) == 1 else 'bands'}"
        text = (
            f"The runs lie {worst.range_db:.1f} dB apart in {worst.band}, "
            f"more than {worst.limit_db:g} dB{more}: {odd}."
        )
        remarks.append(Remark("doubtful", text))
    return tuple(remarks)


def grouped_remarks(remarks: Sequence[Remark]) -> tuple[Remark, ...]:
    """Put the gravest first, and channels with the same fault into one line.

    Notes
    -----
    The same fault is the same sentence but for its numbers; of those the one with the highest
    count is told, and the other channels are named behind it.
    """
    alike: dict[tuple[str, str], list[Remark]] = {}
    for remark in remarks:
        kind = _NUMBER.sub("#", remark.sentence)
        alike.setdefault((remark.severity, kind if remark.channel else remark.sentence), []).append(
            remark
        )
    lines = [_one_line(group) for group in alike.values()]
    return tuple(sorted(lines, key=lambda each: SEVERITIES.index(each.severity)))


def _one_line(group: Sequence[Remark]) -> Remark:
    worst = max(group, key=_count)
    others = sorted({each.channel for each in group if each.channel} - {worst.channel})
    if not others:
        return worst
    *first, last = map(str, others)
    names = f"channels {', '.join(first)} and {last}" if first else f"channel {last}"
    return replace(worst, sentence=f"{worst.sentence.rstrip('.')} (also {names}).")


def _count(remark: Remark) -> float:
    """Return the first figure behind the channel's number, the size of most faults."""
    found = _NUMBER.findall(remark.sentence.removeprefix(f"Channel {remark.channel}"))
    size = found[0].removesuffix(" times") if found else "0"
    return 1.0 if size == "once" else float(size)


def _coast_down_remarks(faults: SpeedFaults) -> tuple[Remark, ...]:
    remarks = []
    if faults.mean_off_km_h < -faults.tolerance_km_h:
        began = faults.wanted_km_h + faults.mean_off_km_h
        text = (
            f"The coast-down began at {began:.1f} km/h, below the wanted {faults.wanted_km_h:g} "
            "km/h: begin faster, or leave the highest speeds out."
        )
        remarks.append(Remark("doubtful", text))
    if faults.first_outside_s is not None:
        text = (
            f"The speed rose during the coast-down, at {_seconds(faults.first_outside_s)}: "
            "drive again without touching the pedals."
        )
        remarks.append(Remark("doubtful", text))
    return tuple(remarks)


def _length_remarks(duration_s: float) -> Iterator[Remark]:
    if duration_s < _SHORTEST_AT_ALL_S:
        yield Remark("void", f"The run lasts {_seconds(duration_s)}: too short, record it again.")
    elif duration_s < SHORTEST_RUN_S:
        yield Remark(
            "doubtful",
            f"The run lasts {_seconds(duration_s)}, less than {SHORTEST_RUN_S:g} s: its low "
            "frequencies are uncertain, record longer.",
        )


def _pair_remarks(faults: RunFaults, numbers: Sequence[int]) -> Iterator[Remark]:
    for first, second in faults.same_channels:
        yield Remark(
            "doubtful",
            f"Channels {numbers[first]} and {numbers[second]} are the same signal: check the "
            "cables and the recorder's routing.",
        )
    for channel in faults.inverted_channels:
        yield Remark(
            "doubtful",
            f"Channel {numbers[channel]} looks inverted: check the polarity of its microphone, "
            "cable and input.",
            numbers[channel],
        )
    for first, second in faults.opposite_channels:
        if {first, second} & set(faults.inverted_channels):
            continue
        yield Remark(
            "doubtful",
            f"Channels {numbers[first]} and {numbers[second]} move against each other at low "
            "frequency, one looks inverted: check the polarity of both.",
        )


def _channel_texts(channel: ChannelFaults, duration_s: float) -> Iterator[tuple[Severity, str]]:
    if channel.is_silent:
        yield "void", "is silent: check microphone, cable, power supply and input."
        return
    yield from _clipping_texts(channel)
    if channel.drop_outs.count:
        yield _drop_out_text(channel.drop_outs, duration_s)
    # Drop-outs and flattened peaks end in corners, which are no news.
    if channel.clicks.count and not (channel.drop_outs.count or channel.clipping.count):
        text = f"clicks {_times(channel.clicks)}: listen there"
        yield "doubtful", f"{text}, and check cable and recorder if it is no sound of the car."
    if channel.gain_step is not None:
        change_db = channel.gain_step.change_db
        way = "rises" if change_db > 0 else "falls"
        yield (
            "doubtful",
            f"{way} by {abs(change_db):.1f} dB at all frequencies at "
            f"{_seconds(channel.gain_step.time_s)}: if the gain was switched, drive again.",
        )
    if channel.hum is not None:
        lines = ", ".join(f"{channel.hum.mains_hz * each:g}" for each in channel.hum.harmonics)
        yield (
            "doubtful",
            f"hums at {lines} Hz, the mains' frequencies: run the recorder from a battery and "
            "keep its cables away from power supplies.",
        )
    yield from _offset_texts(channel.offset_ratio)


def _drop_out_text(lost: Occurrences, duration_s: float) -> tuple[Severity, str]:
    text = f"loses its signal {_times(lost)}"
    first_s, end_s = lost.first_s or 0.0, lost.end_s if lost.end_s is not None else duration_s
    # Up to whole tenths, with 50 ms to spare.
    ends = {"last": duration_s - first_s, "first": end_s}
    end, trimmed_s = min(ends.items(), key=lambda each: each[1])
    trimmed_s = math.ceil(10.0 * (trimmed_s + 0.05)) / 10.0
    is_short = trimmed_s <= min(_TRIMMED_S, _TRIMMED_SHARE * duration_s)
    if is_short and duration_s - trimmed_s >= SHORTEST_RUN_S:
        return (
            "doubtful",
            f"{text}, in the {end} {trimmed_s:.1f} s only: trim the {end} {trimmed_s:.1f} s, the "
            "rest can be used; check cable and recorder before the next run.",
        )
    return "void", f"{text}: check cable and recorder, and drive again."


def _clipping_texts(channel: ChannelFaults) -> Iterator[tuple[Severity, str]]:
    if channel.clipping.count:
        severity: Severity = "void" if channel.clipping.count >= _MANY_CLIPPED else "doubtful"
        text = f"is clipped {_times(channel.clipping)}: lower the recorder's range"
        yield severity, f"{text} and drive again."
    elif channel.full_scale_samples:
        samples = channel.full_scale_samples
        counted = "1 sample" if samples == 1 else f"{samples} samples"
        yield (
            "note",
            f"reaches full scale in {counted}, never three in a row: lower the recorder's range "
            "before the next run.",
        )


def _offset_texts(ratio: float) -> Iterator[tuple[Severity, str]]:
    if abs(ratio) < _OFFSET_NOTED:
        return
    severity: Severity = "doubtful" if abs(ratio) >= _OFFSET_DOUBTFUL else "note"
    yield (
        severity,
        f"has a constant offset of {abs(ratio) * 100:.0f} % of its rms: it counts in levels "
        "without weighting, so switch the input to AC coupling.",
    )


def _times(occurrences: Occurrences) -> str:
    first = _seconds(occurrences.first_s)
    if occurrences.count == 1:
        return f"once, at {first}"
    return f"{occurrences.count} times, first at {first}"


def _seconds(time_s: float | None) -> str:
    return "an unknown time" if time_s is None else f"{time_s:.2f} s"
