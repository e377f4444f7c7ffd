"""The choice table as columns of numbers, so that no step walks over single choices."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from ratings.findings.name_order import by_number
from ratings.statistics.missing import ratio
from ratings.statistics.preference.pair_counts import PairCounts, count_choices
from ratings.study.choice_table import CHOICES

if TYPE_CHECKING:
    import pandas as pd

Matrix = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class NumberedChoices:
    """Choices on one attribute.

    Attributes
    ----------
    attribute
        None when the table has no such column.
    sets, evaluators
        Names; sets in alphabetical order, evaluators with numbers by value.
    evaluator, first, second
        Index into the names, each of shape (choices,).
    choice
        0, 1 or 2 for the first, the second or no difference; -1 where missing.
    conditions, condition
        Names of the conditions, one without a name when the table does not tell, and the index
        into them, shape (choices,).
    """

    attribute: str | None
    sets: tuple[str, ...]
    evaluators: tuple[str, ...]
    evaluator: Codes
    first: Codes
    second: Codes
    choice: Codes
    conditions: tuple[str, ...]
    condition: Codes

    def pairs(self) -> PairCounts:
        """Count the choices of everybody."""
        return count_choices(self.first, self.second, self.choice, len(self.sets))

    def pairs_by_evaluator(self) -> list[PairCounts]:
        """Count the choices of each evaluator."""
        counted = []
        for index in range(len(self.evaluators)):
            own = self.evaluator == index
            counted.append(
                count_choices(self.first[own], self.second[own], self.choice[own], len(self.sets))
            )
        return counted

    def within(self, condition: int) -> "NumberedChoices":
        """Return the choices in one condition, all evaluators and sets kept."""
        own = self.condition == condition
        return replace(
            self,
            evaluator=self.evaluator[own],
            first=self.first[own],
            second=self.second[own],
            choice=self.choice[own],
            conditions=(self.conditions[condition],),
            condition=np.zeros(int(own.sum()), dtype=np.intp),
        )

    def shares(self) -> Matrix:
        """By how much the row was chosen over the column, as a share of the answers on the pair.

        Shape (evaluators, conditions, sets, sets); NaN without an answer.
        """
        found = []
        for condition in range(len(self.conditions)):
            own = self.within(condition)
            votes, answered = own.votes(), (own.choice >= 0) & (own.first != own.second)
            asked = np.zeros_like(votes)
            one, other = own.first[answered], own.second[answered]
            for sides in ((one, other), (other, one)):
                np.add.at(asked, (own.evaluator[answered], *sides), 1)
            found.append(ratio(votes - votes.transpose(0, 2, 1), asked))
        return np.stack(found, axis=1)

    def votes(self) -> Matrix:
        """How often each evaluator chose the row over the column, (evaluators, sets, sets)."""
        sets = len(self.sets)
        decided = ((self.choice == 0) | (self.choice == 1)) & (self.first != self.second)
        turned = self.choice[decided] == 1
        first, second = self.first[decided], self.second[decided]
        winner, loser = np.where(turned, second, first), np.where(turned, first, second)
        shape = len(self.evaluators), sets, sets
        cell = np.ravel_multi_index((self.evaluator[decided], winner, loser), shape)
        counted = np.bincount(cell, minlength=len(self.evaluators) * sets * sets)
        return counted.astype(np.float64).reshape(shape)


def number_choices(table: "pd.DataFrame") -> tuple[NumberedChoices, ...]:
    """Give every name of a choice table a number, attribute by attribute as they first occur."""
    if "attribute" not in table.columns:
        return (_numbered(table, None),)
    attributes = table["attribute"].unique()
    return tuple(_numbered(table[table["attribute"] == one], str(one)) for one in attributes)


def _numbered(table: "pd.DataFrame", attribute: str | None) -> NumberedChoices:
    import pandas as pd

    heard = pd.concat([table["first"], table["second"]], ignore_index=True)
    sets, set_codes = np.unique(heard.to_numpy(dtype=str), return_inverse=True)
    evaluator, evaluators = pd.factorize(table["evaluator"])
    names = [str(name) for name in evaluators]
    order = sorted(range(len(names)), key=lambda index: by_number(names[index]))
    given = table["condition"] if "condition" in table.columns else pd.Series([""] * len(table))
    condition, conditions = pd.factorize(given)
    choice = np.full(len(table), -1, dtype=np.intp)
    for code, word in enumerate(CHOICES):
        choice[(table["choice"] == word).to_numpy(dtype=bool)] = code
    return NumberedChoices(
        attribute=attribute,
        sets=tuple(sets.tolist()),
        evaluators=tuple(names[index] for index in order),
        evaluator=np.argsort(order)[evaluator],
        first=np.asarray(set_codes[: len(table)], dtype=np.intp),
        second=np.asarray(set_codes[len(table) :], dtype=np.intp),
        choice=choice,
        conditions=tuple(str(name) for name in conditions),
        condition=np.asarray(condition, dtype=np.intp),
    )
