"""One measured figure in one condition: the sets' means over runs, and what differs."""

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
import numpy.typing as npt

from ratings.statistics.distributions import f_upper_tail
from ratings.statistics.runs.run_spread import pooled_sd
from ratings.statistics.runs.set_difference import SetDifference, set_difference
from ratings.study.constants import ALPHA
from ratings.study.noticing import is_noticeable, times_noticeable

#: Condition, channel and key.
FigureName = tuple[str, str, str]

_RELATIVE = "re full scale"
#: Scatter below this part of a figure is the computer's, not the runs'.
_NO_SCATTER = 1e-9
#: What a measured run says that lacks a figure, by how its key begins.
NOT_STANDING_OUT, NO_LINE = "does not stand out", "line not found"
_ABSENT = {"pattern_order_": NOT_STANDING_OUT, "cavity_line_": NO_LINE}
_NOT_LOOKED_FOR = "speed or tread not known"
_COMPARED = frozenset(
    {"leq_a", "loudness_n", "loudness_n5", "sharpness", "roughness", "cavity_line_level"}
)

#: What `is_compared` says yes to.
COMPARED_WORDS = (
    "unweighted bands, cavity line level, A-weighted level, loudness N and N5, sharpness, roughness"
)


def is_compared(key: str) -> bool:
    """Tell whether claims are made about a figure: the bands, the cavity line, the overall ones.

    The others, such as third octaves, are shown and never claimed about: among sixty of them three
    would differ by chance.
    """
    return key in _COMPARED or (key.startswith("band_") and not key.endswith("_a"))


#: Why a line that is compared is no claim.
_PARTLY = "the line is not found in every run: shown, not claimed"


def absent_words(key: str, *, knows_turns: bool = True) -> str:
    """Say why a measured run has no such figure.

    Parameters
    ----------
    knows_turns
        Whether speed and tread of the run were known, so that orders were looked for.
    """
    if not knows_turns and key.startswith("pattern_order_"):
        return _NOT_LOOKED_FOR
    return next((words for start, words in _ABSENT.items() if key.startswith(start)), "no value")


def is_level_true(unit: str) -> bool:
    """Tell whether a unit is absolute, and not of levels whose calibration is not known."""
    return not unit.endswith(_RELATIVE)


def decimals_of(unit: str) -> int:
    """Return how many decimals a figure is shown with."""
    return 2 if unit in {"acum", "asper"} else 1


@dataclass(frozen=True, slots=True)
class SetFigure:
    """A figure of one set.

    Attributes
    ----------
    by_run
        One per run that counts, in the order of the runs.
    unit
        Empty without values.
    mean, sd
        Arithmetic, of levels too, as repeatability is usually stated; `sd` is None below two runs.
    uncalibrated_runs
        Left out because the set's other runs are calibrated.
    left_out
        Numbers of the runs that do not count here, each with the reason in words.
    """

    set: str
    by_run: tuple[float, ...] = ()
    unit: str = ""
    mean: float | None = None
    sd: float | None = None
    uncalibrated_runs: int = 0
    left_out: tuple[tuple[int, str], ...] = ()

    @property
    def runs(self) -> int:
        """Number of runs that count."""
        return len(self.by_run)

    @property
    def absence(self) -> str:
        """Why there is no mean although runs were measured; empty when there is one, or no run."""
        reasons = [reason for _, reason in self.left_out if reason != "void"]
        return reasons[0] if reasons and self.mean is None else ""


@dataclass(frozen=True, slots=True)
class FigureDifference:
    """A set against the control.

    Attributes
    ----------
    difference
        Set minus control, in the figure's unit; None with a `reason`.
    low, high
        95 % interval from the scatter of the runs; None with a `reason`.
    se, df
        Of the difference; None where there is no interval.
    p
        Of no difference, for this figure alone.
    p_holm
        Adjusted for all sets and compared figures of the condition; None for figures about which
        nothing is claimed.
    reason
        Why something is missing, or what the difference rests on; empty when nothing is to say.
    """

    set: str
    difference: float | None = None
    low: float | None = None
    high: float | None = None
    p: float | None = None
    p_holm: float | None = None
    reason: str = ""
    se: float | None = None
    df: float | None = None


@dataclass(frozen=True, slots=True)
class FigureFinding:
    """A figure of one channel in one condition.

    Attributes
    ----------
    unit
        The control's; that of the first set with values where the control has none.
    sets
        Every set of the table, the control first.
    differences
        Every set but the control, in the same order.
    pooled_sd, pooled_df
        Scatter of the runs around their set's mean, over all sets; None and 0 while no set has
        two runs.
    """

    condition: str
    channel: str
    key: str
    unit: str
    control: str
    sets: tuple[SetFigure, ...]
    differences: tuple[FigureDifference, ...]
    pooled_sd: float | None
    pooled_df: int

    @property
    def is_compared_level(self) -> bool:
        """Whether it is a level about which claims are made, as bands and the cavity line are."""
        return is_compared(self.key) and self.unit.startswith("dB")

    def of_set(self, code: str) -> SetFigure:
        """Return the figure of a set; KeyError when there is no such set."""
        for each in self.sets:
            if each.set == code:
                return each
        raise KeyError(code)

    def difference_of(self, code: str) -> FigureDifference:
        """Return a set against the control; KeyError for the control itself."""
        for each in self.differences:
            if each.set == code:
                return each
        raise KeyError(code)


def is_clear(finding: FigureFinding, each: FigureDifference) -> bool:
    """Tell whether a difference is claimed: beyond chance, and not zero as it is shown."""
    if each.p_holm is None or each.difference is None:
        return False
    is_seen = round(abs(each.difference), decimals_of(finding.unit)) > 0
    return each.p_holm <= ALPHA and is_seen


def is_noticed(finding: FigureFinding, each: FigureDifference) -> bool:
    """Tell whether a difference is one that ears notice side by side; not whether it is clear."""
    return each.difference is not None and is_noticeable(
        finding.key, finding.unit, each.difference, finding.of_set(finding.control).mean
    )


def times_noticed(finding: FigureFinding, each: FigureDifference) -> float:
    """Return how many times what ears just notice a difference is; 0 when that is not known."""
    if each.difference is None:
        return 0.0
    level = finding.of_set(finding.control).mean
    return times_noticeable(finding.key, finding.unit, each.difference, level) or 0.0


def set_figure(
    code: str,
    by_unit: Mapping[str, Sequence[tuple[int, float]]],
    void: Collection[int] = (),
    absent: Mapping[int, str] = MappingProxyType({}),
) -> SetFigure:
    """Take the runs of a set together; never those of unlike units.

    Parameters
    ----------
    by_unit
        Number and value of its runs by unit. Values that are not finite are undefined and left
        out.
    void
        Numbers of its runs that must not be used and are not among them.
    absent
        By number of all its other runs what is said where they lack this figure; see
        `absent_words`.
    """
    finite = {
        unit: tuple((run, value) for run, value in values if math.isfinite(value))
        for unit, values in by_unit.items()
    }
    known = {unit: values for unit, values in finite.items() if values}
    measured = {run for values in by_unit.values() for run, _ in values}
    reasons = dict.fromkeys(void, "void")
    reasons |= {run: words for run, words in absent.items() if run not in measured}
    reasons |= {
        run: absent.get(run, "no value")
        for values in by_unit.values()
        for run, value in values
        if not math.isfinite(value)
    }
    if not known:
        return SetFigure(code, left_out=tuple(sorted(reasons.items())))
    unit = max(known, key=is_level_true)
    values = tuple(value for _, value in known[unit])
    others = [run for other, runs in known.items() if other != unit for run, _ in runs]
    reasons |= dict.fromkeys(others, "not calibrated")
    sd = float(np.std(values, ddof=1)) if len(values) > 1 else None
    return SetFigure(
        code,
        values,
        unit,
        float(np.mean(values)),
        sd,
        len(others),
        tuple(sorted(reasons.items())),
    )


def figure_findings(
    names: Sequence[FigureName], control: str, sets: Sequence[Sequence[SetFigure]]
) -> list[FigureFinding]:
    """Compare every set with the control, figure by figure.

    Parameters
    ----------
    names
        Condition, channel and key of each figure.
    sets
        For each figure its sets, the control first and the others in one order throughout.
    """
    if not names:
        return []
    columns = [_runs_of([figure[place] for figure in sets]) for place in range(len(sets[0]))]
    sd, df = pooled_sd(*columns)
    against = [set_difference(each, columns[0], pooled_sd=sd, df=df) for each in columns[1:]]
    found = []
    for place, (name, figure) in enumerate(zip(names, sets, strict=True)):
        scatter = float(sd[place]) if df[place] > 0 else None
        differences = tuple(
            _difference(each, figure[0], compared, place)
            for each, compared in zip(figure[1:], against, strict=True)
        )
        units = [each.unit for each in figure if each.unit]
        unit = units[0] if units else ""
        found.append(
            FigureFinding(*name, unit, control, tuple(figure), differences, scatter, int(df[place]))
        )
    return found


def _runs_of(figures: Sequence[SetFigure]) -> npt.NDArray[np.float64]:
    """Return the values of one set, shape (runs, figures); NaN where a figure has fewer runs."""
    most = max([1, *(each.runs for each in figures)])
    values = np.full((most, len(figures)), np.nan)
    for place, each in enumerate(figures):
        values[: each.runs, place] = each.by_run
    return values


def _difference(
    candidate: SetFigure, control: SetFigure, compared: SetDifference, place: int
) -> FigureDifference:
    code = candidate.set
    if candidate.mean is None:
        return FigureDifference(code, reason=candidate.absence or "no run measured")
    if control.mean is None:
        absence = f"in the control: {control.absence}" if control.absence else ""
        return FigureDifference(code, reason=absence or "no run of the control measured")
    if candidate.unit != control.unit:
        who = "the control is" if is_level_true(candidate.unit) else "it is"
        return FigureDifference(code, reason=f"{who} not calibrated, the other one is")
    difference = float(compared.difference[place])
    error, df = float(compared.standard_error[place]), float(compared.df[place])
    if not math.isfinite(error):
        return FigureDifference(
            code, difference, reason="one run each: the scatter of runs is not known"
        )
    if error <= _NO_SCATTER * max(1.0, abs(candidate.mean)):
        return FigureDifference(
            code, difference, reason="the runs do not differ at all: their scatter is not known"
        )
    partly = any(reason == NO_LINE for each in (candidate, control) for _, reason in each.left_out)
    return FigureDifference(
        code,
        difference,
        float(compared.lower[place]),
        float(compared.upper[place]),
        # Runs in which the line happens to stand out are its louder ones: no fair comparison.
        None if partly else f_upper_tail((difference / error) ** 2, 1, df),
        reason=_PARTLY if partly else _basis(candidate, control),
        se=error,
        df=df,
    )


def _basis(candidate: SetFigure, control: SetFigure) -> str:
    if not is_level_true(candidate.unit):
        return "not calibrated: it holds if the recorder's gain was the same"
    if candidate.runs == 1 or control.runs == 1:
        who = "one run" if candidate.runs == 1 else "one run of the control"
        return f"{who}: its scatter is taken from the other sets"
    return ""
