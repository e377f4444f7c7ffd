"""What the measurements of a study say: sets against the control, condition by condition."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ratings.findings.cavity_runs import is_pair, one_line_over_runs
from ratings.findings.measured_figures import (
    FigureFinding,
    absent_words,
    figure_findings,
    is_clear,
    is_compared,
    set_figure,
    times_noticed,
)
from ratings.findings.name_order import by_number
from ratings.statistics.adjusted_p import holm
from ratings.study.figures import EARS

if TYPE_CHECKING:
    import pandas as pd

#: Set, condition and number of a run.
RunName = tuple[str, str, int]


@dataclass(frozen=True, slots=True)
class Measured:
    """Everything that was measured, compared.

    Attributes
    ----------
    sets
        The control first, then by number.
    channels
        The mean of the ears first, then by number.
    findings
        By condition, channel, and figure in the order of the table.
    void
        Runs left out because they must not be used.
    """

    control: str
    sets: tuple[str, ...]
    conditions: tuple[str, ...]
    channels: tuple[str, ...]
    findings: tuple[FigureFinding, ...]
    void: tuple[RunName, ...] = ()

    def block(self, condition: str, channel: str) -> tuple[FigureFinding, ...]:
        """Return the figures of one channel in one condition."""
        return tuple(f for f in self.findings if (f.condition, f.channel) == (condition, channel))

    def clear(self, channel: str) -> tuple[tuple[FigureFinding, str], ...]:
        """Return what can be claimed of a channel over all conditions.

        The largest to ears comes first, see `times_noticed`. Each is a figure and the code of a
        set that differs from the control there with p at most 0.05 after Holm's adjustment for
        all sets, compared figures and conditions.
        """
        asked = [
            (finding, each, each.p)
            for finding in self.findings
            if finding.channel == channel and is_compared(finding.key)
            for each in finding.differences
            if each.p is not None
        ]
        adjusted = holm([p for *_, p in asked]).tolist() if asked else []
        told = [
            (finding, each)
            for (finding, each, _), p in zip(asked, adjusted, strict=True)
            if is_clear(finding, replace(each, p_holm=p))
        ]
        told.sort(key=lambda pair: times_noticed(*pair), reverse=True)
        return tuple((finding, each.set) for finding, each in told)


def measured(
    table: pd.DataFrame,
    control: str,
    conditions: Sequence[str] = (),
    void: Collection[RunName] = (),
    without_turns: Collection[RunName] = (),
) -> Measured:
    """Compare the sets of a measurement table with the control.

    Parameters
    ----------
    table
        Columns ``set, condition, run, channel, figure, unit, value``.
    control
        Its code in the column ``set``; it need not have been measured.
    conditions
        The order in which they are shown; the table's own for those not named.
    void
        Runs that must not be used.
    without_turns
        Runs of which speed or tread is not known, so that no pattern order was looked for.
    """
    cells, left_out = _cells(table, void)
    pairs = _keep_one_cavity_line(cells)
    codes = sorted({key[3] for key in cells} - {control}, key=by_number)
    sets = (control, *codes)
    figures = list(dict.fromkeys(key[:3] for key in cells))
    void_of, runs_of = _by_set(left_out), _by_set(_runs(table) - left_out)
    by_set = [
        [
            set_figure(
                code,
                cells.get((*figure, code), {}),
                void_of.get((code, figure[0]), ()),
                {
                    run: absent_words(
                        figure[2], knows_turns=(code, figure[0], run) not in without_turns
                    )
                    for run in runs_of.get((code, figure[0]), ())
                },
            )
            for code in sets
        ]
        for figure in figures
    ]
    found = [_with_pair_told(each, pairs) for each in figure_findings(figures, control, by_set)]
    seen = list(dict.fromkeys(figure[0] for figure in figures))
    order = [c for c in conditions if c in seen] + [c for c in seen if c not in conditions]
    channels = sorted({figure[1] for figure in figures}, key=_channel_order)
    return Measured(
        control=control,
        sets=sets,
        conditions=tuple(order),
        channels=tuple(channels),
        findings=tuple(_adjusted(found)),
        void=tuple(sorted(left_out)),
    )


def _runs(table: pd.DataFrame) -> set[RunName]:
    columns = (table[name].tolist() for name in ("set", "condition", "run"))
    return {(code, condition, int(run)) for code, condition, run in zip(*columns, strict=True)}


def _by_set(names: Collection[RunName]) -> dict[tuple[str, str], set[int]]:
    found: dict[tuple[str, str], set[int]] = {}
    for code, condition, run in names:
        found.setdefault((code, condition), set()).add(run)
    return found


_CAVITY_SIDES = tuple(
    f"cavity_line_{side}_{figure}" for side in ("lower", "upper") for figure in ("hz", "level")
)

_Cells = dict[tuple[str, str, str, str], dict[str, list[tuple[int, float]]]]


def _cells(table: pd.DataFrame, void: Collection[RunName]) -> tuple[_Cells, set[RunName]]:
    names = ("condition", "channel", "figure", "set", "run", "unit", "value")
    ordered = table.sort_values("run", kind="stable") if len(table) else table
    columns = [ordered[name].tolist() for name in names]
    kept: _Cells = {}
    # The order of the figures is the table's own, whatever the runs.
    for figure in zip(*(table[name].tolist() for name in names[:4]), strict=True):
        kept.setdefault((figure[0], str(figure[1]), figure[2], figure[3]), {})
    left_out: set[RunName] = set()
    for condition, channel, key, code, run, unit, value in zip(*columns, strict=True):
        if (code, condition, int(run)) in void:
            left_out.add((code, condition, int(run)))
            continue
        cell = kept[condition, str(channel), key, code]
        known = float("nan") if value is None else float(value)
        cell.setdefault(unit, []).append((int(run), known))
    return kept, left_out


def _with_pair_told(
    finding: FigureFinding, pairs: Collection[tuple[str, str, str]]
) -> FigureFinding:
    """Say where the level of both lines of a pair is compared with that of a single line."""
    if finding.key != "cavity_line_level":
        return finding
    control = (finding.condition, finding.channel, finding.control) in pairs
    told = []
    for each in finding.differences:
        candidate = (finding.condition, finding.channel, each.set) in pairs
        if candidate != control and each.difference is not None:
            words = "both lines of a pair" if candidate else "one line"
            other = "one line" if candidate else "both lines of a pair"
            remark = f"the level of {words}, in the control of {other}"
            reason = "; ".join(filter(None, (each.reason, remark)))
            told.append(replace(each, reason=reason))
        else:
            told.append(each)
    return replace(finding, differences=tuple(told))


def _keep_one_cavity_line(cells: _Cells) -> set[tuple[str, str, str]]:
    """Leave the frequencies and levels of one line over the runs of each set.

    Returned are condition, channel and set of those that have a pair.
    """
    told = ("cavity_line_hz", "cavity_line_level")
    pairs: set[tuple[str, str, str]] = set()
    for condition, channel, key, code in list(cells):
        if key != told[0]:
            continue
        mine = {
            figure: cells[place]
            for figure in (*told, *_CAVITY_SIDES)
            if (place := (condition, channel, figure, code)) in cells
        }
        runs: dict[int, dict[str, float]] = {}
        for figure, by_unit in mine.items():
            for values in by_unit.values():
                for run, value in values:
                    runs.setdefault(run, {})[figure] = value
        found = one_line_over_runs(runs)
        if is_pair(runs):
            pairs.add((condition, channel, code))
        for figure in told:
            for unit, values in mine.get(figure, {}).items():
                mine[figure][unit] = [
                    (run, found.get(run, {}).get(figure, float("nan"))) for run, _ in values
                ]
    return pairs


def _adjusted(findings: Sequence[FigureFinding]) -> list[FigureFinding]:
    """Adjust within each condition and channel for all that is claimed about there."""
    families: dict[tuple[str, str], list[int]] = {}
    for place, finding in enumerate(findings):
        if is_compared(finding.key):
            families.setdefault((finding.condition, finding.channel), []).append(place)
    result = list(findings)
    for places in families.values():
        p = [
            float("nan") if each.p is None else each.p
            for place in places
            for each in findings[place].differences
        ]
        adjusted = iter(holm(p).tolist())
        for place in places:
            finding = findings[place]
            differences = tuple(
                replace(each, p_holm=None if each.p is None else value)
                for each, value in zip(finding.differences, adjusted, strict=False)
            )
            result[place] = replace(finding, differences=differences)
    return result


def _channel_order(channel: str) -> tuple[bool, list[tuple[int, int, str]]]:
    return channel != EARS, by_number(channel)
