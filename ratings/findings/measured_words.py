"""The sentences about what was measured."""

import re
from collections.abc import Iterable, Mapping, Sequence

from ratings.findings.measured import Measured, RunName
from ratings.findings.measured_figures import (
    NO_LINE,
    NOT_STANDING_OUT,
    FigureDifference,
    FigureFinding,
    SetFigure,
    decimals_of,
    is_clear,
    is_noticed,
    times_noticed,
)
from ratings.findings.name_order import by_number
from ratings.study.figures import is_unweighted, title_of
from ratings.study.noticing import NOTICING, noticing_words
from ratings.study.wording import counted, listed

NOTHING_STANDS_OUT = (
    "No set differs from the control by more than run-to-run scatter in any compared figure."
)

#: Runs repeat the drive; that taking wheels off and on changes a level too is common practice, no
#: source.
OF_THESE_FITTINGS = "What a refit changes is not in the intervals."

#: Which of the figures in sone it is; two of them without a name read like a slip.
_LOUDNESSES = {
    "loudness_n": "in loudness N (diffuse field)",
    "loudness_n5": "in loudness N5 (diffuse field)",
    "loudness_nmax": "in maximum loudness (diffuse field)",
    "sharpness": "(diffuse field)",
}
_PATTERN_ORDER = re.compile(r"pattern_order_(\d+)")
#: A figure and the code of a set that differs from the control there.
_Pair = tuple[FigureFinding, str]
_COMPARATIVES = {
    "sone": ("less loud", "louder"),
    "acum": ("less sharp", "sharper"),
    "asper": ("less rough", "rougher"),
    "Hz": ("lower", "higher"),
}


def number(value: float, unit: str) -> str:
    """Return a size without sign, with as many decimals as its unit deserves."""
    return f"{abs(value):.{decimals_of(unit)}f}"


def where_words(key: str) -> str:
    """Say where a figure looks, such as ``in the cavity line``; empty for overall figures."""
    if key.startswith("cavity_line"):
        return "in the cavity line"
    if key.startswith("band_"):
        name = title_of(key).partition(" band")[0]
        return f"in the {name[:1].lower()}{name[1:]} band"
    if key.startswith("leq") or key == "fast_max_a":
        return "overall"
    if key.startswith("third_octave_"):
        return f"in the third octave at {key.removeprefix('third_octave_')} Hz"
    if key.startswith("pattern_order_"):
        return f"in {title_of(key).partition(',')[0].lower()}"
    return _LOUDNESSES.get(key, "")


def difference_words(difference: float, unit: str) -> str:
    """Say a difference, such as ``3.4 dB quieter than the control``."""
    size = number(difference, unit)
    if float(size) == 0.0:
        return "as the control"
    down, up = _COMPARATIVES.get(unit, ("quieter", "louder"))
    return f"{size} {_spoken(unit)} {down if difference < 0 else up} than the control"


def interval_words(each: FigureDifference, unit: str) -> str:
    """Return the 95 % interval told the same way round as the difference; empty without one."""
    if each.difference is None or each.low is None or each.high is None:
        return ""
    low, high = (-each.high, -each.low) if each.difference < 0 else (each.low, each.high)
    places = decimals_of(unit)
    return f"95 %: {_plain(low, places)} to {_plain(high, places)}"


def runs_words(finding: FigureFinding, code: str) -> str:
    """Say on how many runs a comparison rests; where they are unlike, which are out and why."""
    sets = finding.of_set(code), finding.of_set(finding.control)
    own, control = (each.runs for each in sets)
    if own == control:
        return "1 run each" if own == 1 else f"{own} runs each"
    out = [f"run {run} of {each.set}: {reason}" for each in sets for run, reason in each.left_out]
    why = f", not counted: {', '.join(out)}" if out else ""
    return f"{own} {_runs(own)} against {control}{why}"


def runs_of_sets_words(runs: Mapping[str, int]) -> str:
    """Say how many runs of each set count, such as ``3 runs of each set``."""
    counts = set(runs.values())
    if len(counts) == 1:
        (count,) = counts
        return f"{counted(count, 'run')} of each set" if len(runs) > 1 else counted(count, "run")
    return ", ".join(f"{code}: {counted(count, 'run')}" for code, count in runs.items())


def claim(finding: FigureFinding, code: str, *, with_basis: bool = True) -> str:
    """Say one difference as a sentence, with where, on what, and how sure.

    `with_basis` adds what the interval rests on, where that is unusual.
    """
    each = finding.difference_of(code)
    if each.difference is None:
        return f"Set {code}, {title_of(finding.key).lower()}: {each.reason}."
    where = where_words(finding.key)
    parts = [
        "unweighted" if is_unweighted(finding.key) else "",
        interval_words(each, finding.unit),
        runs_words(finding, code),
    ]
    if with_basis or each.low is None:
        parts.append(each.reason)
    return (
        f"Set {code} is {difference_words(each.difference, finding.unit)}"
        f"{f' {where}' if where else ''} on {finding.condition} "
        f"({'; '.join(part for part in parts if part)})."
    )


def headline(found: Measured, channel: str) -> str:
    """Say the clear difference that is largest to ears; the heading of the page.

    A difference that ears do not notice is never the finding.
    """
    if not found.findings:
        return "No run has been measured yet."
    clear = found.clear(channel)
    noticed, small = _by_notice(clear)
    if noticed:
        return claim(*noticed[0], with_basis=False)
    if small:
        return _nothing_noticed(len(small))
    asked = [each for f in found.findings if f.channel == channel for each in f.differences]
    if not any(each.difference is not None for each in asked):
        return f"No set can be compared with the control {found.control} yet."
    if all(each.low is None for each in asked):
        return "One run of each set: differences cannot be told from run-to-run scatter."
    return NOTHING_STANDS_OUT


def further_words(found: Measured, channel: str) -> str:
    """Say what the headline rests on, where that is unusual, and how many more can be claimed."""
    noticed, small = _by_notice(found.clear(channel))
    if not noticed:
        return OF_THESE_FITTINGS if small else ""
    finding, code = noticed[0]
    reason, more = finding.difference_of(code).reason, len(noticed) - 1
    parts = [f"{reason[0].upper()}{reason[1:]}."] if reason else []
    if more:
        parts.append(f"{counted(more, 'more difference')} {_be(more)} clear.")
    parts += _smaller_words(small, "more" if more else "")
    return " ".join([*parts, OF_THESE_FITTINGS])


def condition_sentence(block: Sequence[FigureFinding]) -> str:
    """Say what stands out in one condition, set by set, the largest to ears first.

    Parameters
    ----------
    block
        The figures of one channel in one condition.
    """
    if not block:
        return "Nothing has been measured here yet."
    told: dict[str, list[str]] = {}
    small: list[_Pair] = []
    silent: list[str] = []
    for code in (each.set for each in block[0].differences):
        clear = [(f, code) for f in block if is_clear(f, f.difference_of(code))]
        noticed, less = _by_notice(clear)
        small += less
        if noticed:
            told[code] = [_short(f, f.difference_of(code)) for f, _ in noticed]
        elif not clear and any(f.difference_of(code).p is not None for f in block):
            silent.append(code)
    if not told and small:
        return _nothing_noticed(len(small))
    if not told:
        return NOTHING_STANDS_OUT if silent else "No set can be told from the control here yet."
    sentences = [f"{code} is {listed(parts)}" for code, parts in told.items()]
    if silent:
        does = "does" if len(silent) == 1 else "do"
        sentences.append(
            f"{listed(silent)} {does} not differ by more than run-to-run scatter in any compared "
            "figure"
        )
    said = "Against the control: " + "; ".join(sentences) + "."
    return " ".join([said, *_smaller_words(small)])


def heard_words(block: Sequence[FigureFinding]) -> str:
    """Say what the clear difference that is largest to ears means to them; empty without one."""
    clear = [(f, d.set) for f in block for d in f.differences if is_clear(f, d)]
    noticed, _ = _by_notice(clear)
    if not noticed:
        return ""
    finding, code = noticed[0]
    difference = finding.difference_of(code).difference or 0.0
    level = finding.of_set(finding.control).mean
    size = f"{number(difference, finding.unit)} {_spoken(finding.unit)}"
    heard = noticing_words(finding.key, finding.unit, difference, level)
    return f"A change of {size} is {heard}."


def only_here_words(block: Sequence[FigureFinding]) -> str:
    """Name the lines that most runs of a set have and no run of the control; empty without any.

    Nothing is said where the control has no run in which they were looked for.
    """
    told: dict[str, tuple[list[str], list[str]]] = {}
    for finding in block:
        order = _PATTERN_ORDER.fullmatch(finding.key)
        if order is None and finding.key != "cavity_line_level":
            continue
        looked_for = NOT_STANDING_OUT if order else NO_LINE
        if not _is_without(finding.of_set(finding.control), looked_for):
            continue
        for each in finding.sets[1:]:
            size = _if_in_most_runs(each, looked_for)
            if size:
                orders, lines = told.setdefault(each.set, ([], []))
                (orders if order else lines).append(f"{order[1]} ({size})" if order else size)
    return " ".join(
        f"{code}: {listed(parts)}."
        for code, (orders, lines) in told.items()
        for parts in [[*_orders_words(orders), *_line_words(lines)]]
    )


def missing_words(found: Measured, condition: str, channel: str) -> str:
    """Name the sets that have no measured run in a condition; empty when all have."""
    block = found.block(condition, channel)
    with_runs = {each.set for f in block for each in f.sets if each.runs}
    missing = [code for code in found.sets if code not in with_runs]
    if not missing:
        return ""
    return f"No measured run of {listed(missing)}."


def void_words(void: Iterable[RunName]) -> str:
    """Say which runs are left out; empty when none is."""
    names = [f"{code} on {condition}, run {run}" for code, condition, run in void]
    if not names:
        return ""
    count = len(names)
    return f"{count} {_runs(count)} marked void {_be(count)} left out: {'; '.join(names)}."


def _by_notice(clear: Sequence[_Pair]) -> tuple[list[_Pair], list[_Pair]]:
    """Part clear differences into what ears notice, the largest to them first, and what not."""
    noticed = [(f, code) for f, code in clear if is_noticed(f, f.difference_of(code))]
    noticed.sort(key=lambda pair: -times_noticed(pair[0], pair[0].difference_of(pair[1])))
    return noticed, [(f, code) for f, code in clear if not is_noticed(f, f.difference_of(code))]


def _nothing_noticed(count: int) -> str:
    """Say that what is clear is small; that a set differs by little is not known of the rest."""
    smaller = counted(count, "smaller difference")
    return (
        "No clear difference from the control is large enough for ears to notice "
        f"({NOTICING.level.words} dB); {smaller} {'exceeds' if count == 1 else 'exceed'} "
        "run-to-run scatter."
    )


def _smaller_words(small: Sequence[_Pair], noun: str = "") -> list[str]:
    """Count clear differences that ears do not notice, with their sets."""
    if not small:
        return []
    count, codes = len(small), sorted({code for _, code in small}, key=by_number)
    return [
        f"{f'{count} {noun}' if noun else counted(count, 'more difference')} {_be(count)} clear "
        f"but smaller than ears notice ({listed(codes)})."
    ]


def _be(count: int) -> str:
    return "is" if count == 1 else "are"


def _is_without(control: SetFigure, looked_for: str) -> bool:
    """Tell whether a figure was looked for in runs that count, and found in none."""
    return not control.runs and _missing(control, looked_for) > 0


def _missing(each: SetFigure, looked_for: str) -> int:
    return sum(reason == looked_for for _, reason in each.left_out)


def _if_in_most_runs(each: SetFigure, looked_for: str) -> str:
    """Say a level, with the number of runs where not all have it; empty where most have not."""
    count = each.runs + _missing(each, looked_for)
    if each.mean is None or 2 * each.runs <= count:
        return ""
    size = f"{_plain(each.mean, 0)} {each.unit}"
    return size if each.runs == count else f"{size}, {each.runs} of {count} runs"


def _orders_words(orders: Sequence[str]) -> list[str]:
    if not orders:
        return []
    noun, verb = ("order", "stands") if len(orders) == 1 else ("orders", "stand")
    return [f"pattern {noun} {listed(orders)} {verb} out, not in the control"]


def _line_words(lines: Sequence[str]) -> list[str]:
    return [f"a cavity line ({each}), none found in the control" for each in lines]


def _short(finding: FigureFinding, each: FigureDifference) -> str:
    down, up = _COMPARATIVES.get(finding.unit, ("quieter", "louder"))
    difference = each.difference or 0.0
    size = f"{number(difference, finding.unit)} {_spoken(finding.unit)}"
    where = where_words(finding.key)
    return f"{size} {down if difference < 0 else up}{f' {where}' if where else ''}"


def _spoken(unit: str) -> str:
    return unit.removesuffix(" re full scale")


def _plain(value: float, places: int) -> str:
    return f"{round(value, places) + 0.0:.{places}f}".replace("-", "−")


def _runs(count: int) -> str:
    return "run" if count == 1 else "runs"
