"""The score table as columns of numbers, so that no step walks over single scores."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from ratings.findings.name_order import by_number

if TYPE_CHECKING:
    import pandas as pd

Codes = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class NumberedScores:
    """Names, and for each score which of them it belongs to.

    Attributes
    ----------
    evaluators, sets, attributes, conditions
        Names; `conditions` holds one empty name when the table has no conditions.
    evaluator, set_, attribute, condition
        Index into the names, each of shape (scores,).
    score
        In score points, shape (scores,); NaN is missing.
    pair, side, role
        Index of the pair, 0 for side A and 1 for side B, and 0, 1 or 2 for a candidate, null or
        repeated pair; -1 where not told. None when the table has no such column.
    driven
        Whether the score was given in the car; None when the table does not tell.
    """

    evaluators: tuple[str, ...]
    sets: tuple[str, ...]
    attributes: tuple[str, ...]
    conditions: tuple[str, ...]
    evaluator: Codes
    set_: Codes
    attribute: Codes
    condition: Codes
    score: npt.NDArray[np.float64]
    pair: Codes | None
    side: Codes | None
    role: Codes | None
    driven: npt.NDArray[np.bool_] | None

    def only(self, rows: npt.NDArray[np.bool_]) -> "NumberedScores":
        """Keep some scores, and all names."""
        return replace(
            self,
            evaluator=self.evaluator[rows],
            set_=self.set_[rows],
            attribute=self.attribute[rows],
            condition=self.condition[rows],
            score=self.score[rows],
            pair=None if self.pair is None else self.pair[rows],
            side=None if self.side is None else self.side[rows],
            role=None if self.role is None else self.role[rows],
            driven=None if self.driven is None else self.driven[rows],
        )


def number_scores(table: "pd.DataFrame") -> NumberedScores:
    """Give every name of a score table a number; evaluators and sets in order."""
    evaluator, evaluators = _numbered(table, "evaluator", in_order=True)
    set_, sets = _numbered(table, "set", in_order=True)
    attribute, attributes = _numbered(table, "attribute", in_order=False)
    condition, conditions = _numbered(table, "condition", in_order=False)
    origin = table["origin"].astype(str) if "origin" in table.columns else None
    return NumberedScores(
        evaluators=evaluators,
        sets=sets,
        attributes=attributes,
        conditions=conditions,
        evaluator=evaluator,
        set_=set_,
        attribute=attribute,
        condition=condition,
        score=table["score"].to_numpy(dtype=np.float64),
        pair=_pair_numbers(table),
        side=_coded(table, "side", ("A", "B")),
        role=_coded(table, "role", ("candidate", "null", "repeat")),
        driven=None if origin is None else (origin == "driven").to_numpy(dtype=bool),
    )


def _numbered(
    table: "pd.DataFrame", column: str, *, in_order: bool
) -> tuple[Codes, tuple[str, ...]]:
    import pandas as pd

    if column not in table.columns:
        return np.zeros(len(table), dtype=np.intp), ("",)
    column_codes, names = pd.factorize(table[column], sort=False)
    texts = [str(name) for name in names]
    codes = np.asarray(column_codes, dtype=np.intp)
    if (codes < 0).any():
        # What is not told is a name of its own, the empty one.
        if "" not in texts:
            texts.append("")
        codes = np.where(codes < 0, texts.index(""), codes)
    order = list(range(len(texts)))
    if in_order:
        order.sort(key=lambda index: by_number(texts[index]))
    place = np.empty(len(texts), dtype=np.intp)
    place[order] = np.arange(len(texts))
    return place[codes], tuple(texts[index] for index in order)


def _pair_numbers(table: "pd.DataFrame") -> Codes | None:
    if "pair" not in table.columns:
        return None
    codes, names = _numbered(table, "pair", in_order=False)
    return np.where(codes == names.index(""), -1, codes) if "" in names else codes


def _coded(table: "pd.DataFrame", column: str, words: tuple[str, ...]) -> Codes | None:
    if column not in table.columns:
        return None
    codes = np.full(len(table), -1, dtype=np.intp)
    for number, word in enumerate(words):
        codes[(table[column] == word).to_numpy(dtype=bool)] = number
    return codes
