"""What the verdict is made of: a row per set and attribute, and what a reader must know first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from ratings.findings.verdict.beside import Beside
from ratings.findings.verdict.cells import Cell, CellRow


@dataclass(frozen=True, slots=True, eq=False)
class Row:
    """One attribute of one set.

    Attributes
    ----------
    attribute, name
        Key, and what pages call it.
    cells
        What the panel says.
    beside
        What was measured over the conditions in which the attribute was rated.
    beside_by_condition
        The same in each condition, by title; empty with one condition.
    smallest_detectable
        True difference in score points that a panel like this would claim four times in five; None
        where nothing can be judged.
    mark
        Why the difference stands on loose ground, such as a panel that does not agree; or empty.
    noticed
        Who would notice a clear difference, by the study's limits; empty where none is clear.
    sentence
        What it means.
    """

    attribute: str
    name: str
    cells: CellRow
    beside: Beside
    beside_by_condition: Mapping[str, Beside] = field(default_factory=dict)
    smallest_detectable: float | None = None
    mark: str = ""
    noticed: str = ""
    sentence: str = ""

    @property
    def overall(self) -> Cell:
        """The panel's word over all conditions."""
        return self.cells.overall


@dataclass(frozen=True, slots=True)
class SetVerdict:
    """A set beside the control: the sentence that sums it up, and a row per attribute."""

    code: str
    name: str
    sentence: str
    rows: tuple[Row, ...]

    def row(self, attribute: str) -> Row:
        """Return the row of an attribute; KeyError when there is none."""
        for each in self.rows:
            if each.attribute == attribute:
                return each
        raise KeyError(attribute)


@dataclass(frozen=True, slots=True)
class Caution:
    """Something that a reader must know before any finding.

    Attributes
    ----------
    subject
        What it is about, in a word or two, such as ``void runs``.
    sentence
        What it is.
    brief
        The same in short, for a first page; empty where the sentence is short.
    """

    subject: str
    sentence: str
    brief: str = ""
