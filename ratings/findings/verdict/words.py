"""The sentences of the verdict: what was heard first, then what it means and what was measured."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ratings.findings.measured_figures import decimals_of
from ratings.findings.verdict.beside import Beside
from ratings.findings.verdict.cells import Cell
from ratings.findings.verdict.rows import Row, SetVerdict
from ratings.study.figures import title_of
from ratings.study.limits import Limits
from ratings.study.wording import counted, listed, lowered, raised

#: So many sets are named in the heading; the others are counted.
_MOST_NAMED = 3


def points(value: float) -> str:
    """Return score points with their sign, such as ``+1.0``."""
    return signed(value, 1)


def size_words(cell: Cell) -> str:
    """Say a difference with its interval the same way round, such as ``by 1.0 (0.7 to 1.4)``."""
    value, low, high = (each or 0.0 for each in (cell.difference, cell.lower, cell.upper))
    if value < 0:
        low, high = -high, -low
    return f"by {abs(value):.1f} ({_plain(low)} to {_plain(high)})"


def noticed_words(cell: Cell, limits: Limits) -> str:
    """Say who would notice a difference; "likely" where the interval reaches below the limit."""
    if cell.difference is None or cell.lower is None or cell.upper is None:
        return ""
    size = abs(cell.difference)
    least = cell.lower if cell.difference > 0 else -cell.upper
    for limit, who in (
        (limits.customer, "an ordinary customer"),
        (limits.matters, "a critical customer"),
        (limits.small, "trained ears, back to back"),
    ):
        # As it is shown: 0.96 reads 1.0.
        if round(size, 1) >= limit:
            return f"{'' if least >= limit else 'likely '}noticed by {who}"
    return f"less than trained ears notice back to back (about {limits.small:g})"


def measured_words(each: Beside) -> str:
    """Say a measured difference with its figure, such as ``cavity line −3.8 dB (−4.4 to −3.2)``."""
    if each.difference is None:
        return ""
    places = decimals_of(each.unit)
    unit = each.unit.removesuffix(" re full scale")
    interval = ""
    if each.low is not None and each.high is not None:
        interval = f" ({signed(each.low, places)} to {signed(each.high, places)})"
    return f"{figure_name(each.figure)} {signed(each.difference, places)} {unit}{interval}"


def figure_name(key: str) -> str:
    """Name a figure in a sentence."""
    title = title_of(key).removesuffix(", unweighted").removesuffix(", level")
    if title.startswith("Level, "):
        return f"{title.removeprefix('Level, ')} level"
    return lowered(title)


def row_sentence(row: Row, limits: Limits, control: str) -> str:
    """Say what one attribute of a set means, for somebody who reads nothing else."""
    cell = row.overall
    if cell.word == "no verdict":
        return f"No verdict: {lowered(cell.reason).rstrip('.') or 'too few scores'}."
    told = [f"{_heard(row, limits, control)}."]
    if row.mark:
        told.append(row.mark)
    if cell.without_flagged is not None:
        told.append(f"Without the flagged evaluators: {cell.without_flagged} (shown, not claimed).")
    if row.beside.difference is not None:
        told.append(_beside_words(row.beside, cell))
    return " ".join(told)


def _beside_words(each: Beside, cell: Cell) -> str:
    found = measured_words(each)
    where = f"; {each.where}" if each.where else ""
    if each.says == "the same":
        return f"The measurement says the same: {found}, {each.why}{where}."
    if each.says == "otherwise":
        return f"The measurement says otherwise: {found}; {each.why}{where}."
    if cell.word in ("not certain", "by condition"):
        return f"Measured: {found}{where}."
    return f"Measured: {found}; whether it says the same cannot be told, {each.why}{where}."


def _heard(row: Row, limits: Limits, control: str) -> str:
    cell = row.overall
    if cell.word == "too small to matter":
        alone = ""
        if (cell.lower or 0.0) > 0 or (cell.upper or 0.0) < 0:
            way = "better" if (cell.difference or 0.0) > 0 else "worse"
            alone = f", though {way} {size_words(cell)}"
        return f"Within {limits.matters:g} of {control}: too small to matter{alone}"
    if cell.word == "clear":
        way = "Better" if cell.way == "better" else "Worse"
        return f"{way} than {control} {size_words(cell)}: {row.noticed}{_by_itself(row)}"
    if cell.word == "by condition":
        return f"{_conditions_words(row)}; the average over all conditions hides it"
    alone = ""
    if (cell.lower or 0.0) > 0 or (cell.upper or 0.0) < 0:
        alone = "; clear alone, not after adjusting"
    reach = row.smallest_detectable
    could = "" if reach is None else f"; this panel would reliably find {reach:.1f}"
    return f"Not certain: {points(cell.difference or 0.0)} ({_bounds(cell)}){alone}{could}"


def _by_itself(row: Row) -> str:
    """Say where a clear difference is clear by itself, if that is not everywhere."""
    clear, several = row.cells.clear_in, len(row.cells.by_condition) > 1
    if not several or not clear or len(clear) == len(row.cells.by_condition):
        return ""
    return f"; by itself clear only on {listed([str(cell.condition) for cell in clear])}"


def _conditions_words(row: Row) -> str:
    told = [f"{cell.way} {size_words(cell)} on {cell.condition}" for cell in row.cells.clear_in]
    only = " only" if len(row.cells.clear_in) == 1 else ""
    return f"{raised(listed(told))}{only}"


def claims_sentence(each: SetVerdict, limits: Limits, control: str) -> str:
    """Say in one sentence what is claimed of a set, with sizes; for the first page."""
    return _claim_sentence(each.name, each.rows, limits, control)


def _claim_sentence(name: str, rows: Sequence[Row], limits: Limits, control: str) -> str:
    parts = _claim_parts(rows, control)
    if parts:
        return f"{_sentence_name(name)} is {', but '.join(parts)}."
    words = {row.overall.word for row in rows}
    if words <= {"no verdict"}:
        return f"No verdict on {name}."
    if words == {"too small to matter"}:
        return (
            f"{_sentence_name(name)} is within {limits.matters:g} of {control} on every attribute."
        )
    return f"{_sentence_name(name)} does not differ clearly from {control}."


def set_sentence(name: str, rows: Sequence[Row], limits: Limits, control: str) -> str:
    """Sum a set up: what is better, what is worse, and where nothing can be said."""
    rest = {
        word: [_spoken(row) for row in rows if row.overall.word == word]
        for word in ("too small to matter", "not certain", "no verdict")
    }
    sentences = [_claim_sentence(name, rows, limits, control)]
    words = {row.overall.word for row in rows}
    if len(words) == 1 and words <= {"too small to matter", "no verdict"}:
        return sentences[0]
    for word, names in rest.items():
        if names:
            sentences.append(f"{raised(word)}: {listed(names)}.")
    return " ".join(sentences)


def headline(
    sets: Sequence[SetVerdict], control: str, limits: Limits, *, is_final: bool = True
) -> str:
    """Say the finding; the heading of page and report.

    `is_final` is False while sessions run: what is not settled is then no finding.
    """
    if not sets:
        return f"There is no set beside {control} yet."
    rows = [row for each in sets for row in each.rows]
    if all(row.overall.word == "no verdict" for row in rows):
        reasons = {row.overall.reason for row in rows if row.overall.reason}
        why = f" {next(iter(reasons))}" if len(reasons) == 1 else ""
        return f"No verdict yet.{why}"
    told = sorted(filter(has_claims, sets), key=rank)
    if not told:
        if all(row.overall.word == "too small to matter" for row in rows):
            who = "Every set is" if len(sets) > 1 else f"{_sentence_name(sets[0].name)} is"
            return f"{who} within {limits.matters:g} points of {control} on every attribute."
        return f"No set differs clearly from {control}{'' if is_final else ' yet'}."
    sentences = [f"{each.name} is {_claim_words(each)}" for each in told[:_MOST_NAMED]]
    more = len(told) - _MOST_NAMED
    if more > 0:
        does = "differs" if more == 1 else "differ"
        sentences.append(f"{counted(more, 'more set')} {does} clearly")
    return f"Beside {control}: {'; '.join(sentences)}."


def _claim_parts(rows: Sequence[Row], control: str) -> list[str]:
    """Say what is better and what is worse, each with its sizes."""
    parts = []
    for way in ("better", "worse"):
        told = {row: f" {size_words(row.overall)}" for row in rows if row.overall.way == way} | {
            row: "".join(f" {size_words(cell)} on {cell.condition} only" for cell in only)
            for row in rows
            if (only := _only(row, way))
        }
        if told:
            parts.append(f"{way} than {control} {_on(told)}")
    return parts


def _sentence_name(name: str) -> str:
    """Begin a sentence: a name stays as it is, a code gets its capital."""
    return raised(name) if name.startswith("set ") else name


def _only(row: Row, way: str) -> tuple[Cell, ...]:
    """Return the conditions that a claim is about, where it holds in some of them only."""
    is_split = row.overall.word == "by condition"
    return tuple(cell for cell in row.cells.clear_in if is_split and cell.way == way)


def _claims(each: SetVerdict, way: str) -> dict[Row, str]:
    """Return what a set is claimed to be better or worse on, with where if that is not overall."""
    claims = {row: "" for row in each.rows if row.overall.way == way}
    for row in each.rows:
        only = _only(row, way)
        if only:
            claims[row] = f" ({listed([str(cell.condition) for cell in only])} only)"
    return claims


def _on(told: Mapping[Row, str]) -> str:
    """Name attributes behind "better": "on boom and hiss", "overall", "on boom, and overall"."""
    single = [f"{_spoken(row)}{words}" for row, words in told.items() if not _is_overall(row)]
    whole = [f"overall{words}" for row, words in told.items() if _is_overall(row)]
    if not single:
        return whole[0]
    return f"on {listed(single)}{', and ' if whole else ''}{''.join(whole)}"


def _is_overall(row: Row) -> bool:
    return row.attribute == "overall"


def has_claims(each: SetVerdict) -> bool:
    """Tell whether a set is claimed to be better or worse on anything."""
    return bool(_claims(each, "better") or _claims(each, "worse"))


def rank(each: SetVerdict) -> tuple[int, int]:
    """Put sets that are only better first, and those without claims last.

    The first is 0 for a set that is better somewhere and nowhere clearly worse, 1 for one that is
    both, 2 for one that is only worse, 3 for one without claims, 4 for one that cannot be judged;
    the second falls with the number of attributes on which it is better.
    """
    better, worse = (len(_claims(each, way)) for way in ("better", "worse"))
    if not better and not worse:
        return (4 if all(row.overall.word == "no verdict" for row in each.rows) else 3), 0
    return (0 if not worse else 1 if better else 2), -better


def _claim_words(each: SetVerdict) -> str:
    ways = {way: _claims(each, way) for way in ("better", "worse")}
    return ", but ".join(f"{way} {_on(claims)}" for way, claims in ways.items() if claims)


def _spoken(row: Row) -> str:
    """Return an attribute's name in the middle of a sentence; abbreviations stay as they are."""
    first = row.name[:2]
    return row.name if first.isupper() else lowered(row.name)


def _bounds(cell: Cell) -> str:
    if cell.lower is None or cell.upper is None:
        return "so few evaluators leave every difference open"
    return f"{points(cell.lower)} to {points(cell.upper)}"


def _plain(value: float) -> str:
    return f"{round(value, 1) + 0.0:.1f}".replace("-", "−")


def signed(value: float, places: int) -> str:
    """Return a number with its sign, U+2212 for minus; zero without one."""
    rounded = round(value, places) + 0.0
    return f"{rounded:+.{places}f}".replace("-", "−") if rounded else f"{rounded:.{places}f}"
