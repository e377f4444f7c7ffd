"""W of every attribute in every condition, with its marks: for the window, a file and a shell."""

from collections.abc import Mapping, Sequence

from ratings.findings.agreement import CERTAIN, AttributeAgreement

#: What stands beside a W.
MARKS_WORDS = "* above chance; (*) above chance, but the interval reaches down to it"
ALL_CONDITIONS = "all conditions"


def mark(block: AttributeAgreement) -> str:
    """Return what stands beside W; empty where it is not above chance. See `MARKS_WORDS`."""
    if not block.agrees:
        return ""
    return "*" if block.degree in CERTAIN else "(*)"


def agreement_matrix(
    blocks: Sequence[AttributeAgreement], names: Mapping[str, str], conditions: Sequence[str]
) -> list[tuple[str, ...]]:
    """Return a heading row and a row for each attribute: name, all conditions, each condition.

    Parameters
    ----------
    names
        What the form calls an attribute, by its key; the key stands for one that is missing.
    conditions
        In the order of the columns.
    """
    found = {(block.attribute, block.condition): block for block in blocks}
    attributes = dict.fromkeys(block.attribute for block in blocks)
    return [("attribute", ALL_CONDITIONS, *conditions)] + [
        (names.get(key, key), *(_cell(found.get((key, place))) for place in (None, *conditions)))
        for key in attributes
    ]


def _cell(block: AttributeAgreement | None) -> str:
    if block is None or block.kendall.w is None:
        return "–"
    size = f"{block.kendall.evaluators} × {block.kendall.sets}"
    return f"{block.kendall.w:.2f} {mark(block)}".rstrip() + f"  ({size})"
