"""Figures of the agreement page in words, the same on screen and in files."""

import math
import re
from collections.abc import Sequence

from ratings.findings.agreement import AttributeAgreement
from ratings.findings.evaluator_findings import EvaluatorFinding
from ratings.statistics.agreement.icc import IntraclassCorrelation, IntraclassCorrelations
from ratings.statistics.agreement.kendall import Concordance

#: Headings of the table of evaluators.
FITNESS_HEADINGS = (
    "evaluator",
    "repeat error",
    "null pair",
    "side bias",
    "range used",
    "time per pair",
    "separates sets",
    "what stands out",
)
#: What each of them is, for a tooltip or a caption.
FITNESS_MEANINGS = (
    "blind code of the evaluator",
    "mean difference between a pair and its hidden repeat, in points",
    "mean difference heard between two identical clips, in points",
    "how much more side A gets than side B beyond what the sets deserve, in points",
    "lowest and highest score given",
    "median time from opening a pair to closing it, over all pairs; alike for every attribute",
    "whether the sets differ by more than the evaluator's own scatter: F test at 5 %",
    "what to look at",
)
#: p up to which an evaluator is said to separate the sets.
SEPARATES_P = 0.05
#: Which way a side bias goes.
SIDE_BIAS_WORDS = "side bias: + means side A scored higher"
#: What a flag is.
FLAG_WORDS = "flags stand on all attributes and conditions together; a score to check is no flag"
#: What stands where a figure is undefined.
NO_FIGURE = "–"
_LEVELS = ((0.5, "poor"), (0.75, "moderate"), (0.9, "good"), (math.inf, "excellent"))


def figure(value: float | None, decimals: int = 2) -> str:
    """Return a figure with a true minus sign, or a dash."""
    if value is None or math.isnan(value):
        return NO_FIGURE
    # Adding zero takes the sign off a rounded minus zero.
    return f"{round(value, decimals) + 0.0:.{decimals}f}".replace("-", "−")


def signed(value: float | None, decimals: int = 1) -> str:
    """Return a figure that carries its sign; zero has none."""
    text = figure(value, decimals)
    is_above = value is not None and round(value, decimals) > 0
    return f"+{text}" if is_above else text


def interval(lower: float | None, upper: float | None) -> str:
    """Return a 95 % interval such as ``0.31 to 0.88``, or nothing."""
    return "" if lower is None or upper is None else f"{figure(lower)} to {figure(upper)}"


def size_words(kendall: Concordance) -> str:
    """Return the n of W, such as ``9 × 4``: evaluators times sets."""
    return f"{kendall.evaluators} × {kendall.sets}"


def threshold_words(blocks: Sequence[AttributeAgreement]) -> str:
    """Say what the shaded part of the plot of W means, given all that it shows."""
    told = [block for block in blocks if block.kendall.w is not None]
    known = {(block.chance_w, size_words(block.kendall)) for block in told}
    among = f" among {len(told)} attributes" if len(told) > 1 else ""
    if any(block.condition is not None for block in told):
        among = " among all attributes and conditions"
    if len(known) == 1:
        smallest, size = next(iter(known))
        if smallest is None:
            return f"Shaded: chance alone explains any W of {size} (evaluators × sets){among}."
        return (
            f"Shaded: chance alone explains W below {figure(smallest)} for {size} "
            f"(evaluators × sets){among}."
        )
    return f"Shaded: W that chance alone explains for that many evaluators × sets{among}."


def icc_sentence(icc: IntraclassCorrelations) -> str:
    """Say what ICC means for one evaluator and for the panel's mean.

    References
    ----------
    Words after Koo TK, Li MY (2016) J. Chiropr. Med. 15:155-163 (limits from memory): below 0.50
    poor, below 0.75 moderate, below 0.90 good, else excellent; the interval counts.
    """
    one, mean = icc.form("ICC(A,1)"), icc.form("ICC(A,k)")
    if one.value is None or mean.value is None:
        return one.reason or mean.reason
    return (
        f"Agreement in numbers is {_level_words(one)} for one evaluator alone, and "
        f"{_level_words(mean)} for the mean of all {icc.evaluators}."
    )


def _level_words(form: IntraclassCorrelation) -> str:
    level = _level(form.value or 0.0)
    if form.lower is None or form.upper is None:
        return level
    lowest, highest = _level(form.lower), _level(form.upper)
    return level if lowest == highest else f"{level} (interval: {lowest} to {highest})"


def _level(value: float) -> str:
    return next(word for limit, word in _LEVELS if value < limit)


def fitness_cells(finding: EvaluatorFinding) -> tuple[str, ...]:
    """Return one evaluator's row under `FITNESS_HEADINGS`."""
    return (
        finding.evaluator,
        figure(finding.repeat_pair_error),
        figure(finding.null_pair_error),
        signed(finding.side_bias, 2),
        _range_words(finding),
        _time_words(finding),
        _separation_words(finding),
        re.sub(r"(?<=\s)-(?=\d)", "−", "; ".join(finding.remarks)),
    )


def _range_words(finding: EvaluatorFinding) -> str:
    if finding.lowest is None or finding.highest is None:
        return NO_FIGURE
    return f"{finding.lowest:g} to {finding.highest:g}"


def _time_words(finding: EvaluatorFinding) -> str:
    return NO_FIGURE if finding.pace is None else f"{figure(finding.pace.median_s, 0)} s"


def _separation_words(finding: EvaluatorFinding) -> str:
    f = finding.discrimination_f
    if f is None:
        return NO_FIGURE
    if math.isinf(f):
        return "yes, no scatter"
    p = finding.discrimination_p
    return NO_FIGURE if p is None else "yes" if p <= SEPARATES_P else "not clearly"


def separation_figures(finding: EvaluatorFinding) -> str:
    """Return the test behind `FITNESS_HEADINGS`' "separates sets"; empty where there is none."""
    f, p = finding.discrimination_f, finding.discrimination_p
    if f is None or p is None or math.isinf(f):
        return ""
    return f"F {f:.1f}, p {'< 0.001' if p < 0.001 else f'{p:.3f}'}"


def flagged_evaluators(block: AttributeAgreement) -> tuple[str, ...]:
    """Return those of a block who are flagged in the study."""
    return tuple(each.evaluator for each in block.evaluators_detail if each.reasons)


def without_flagged_words(block: AttributeAgreement) -> str:
    """Say W with and without the flagged evaluators."""
    flagged = flagged_evaluators(block)
    everyone = f"All {len(block.evaluators)} counted: W {figure(block.kendall.w)}"
    if not flagged:
        return f"Nobody is flagged. {everyone}." if block.kendall.w is not None else ""
    names = " and ".join(", ".join(flagged).rsplit(", ", 1))
    other = block.without_flagged
    if other is None or other.w is None:
        return f"{everyone}; without {names} it cannot be told."
    return f"{everyone}; without {names}: W {figure(other.w)}."
