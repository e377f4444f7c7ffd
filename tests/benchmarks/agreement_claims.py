"""How often the panel is said to agree on invented scores, and what the interval of W holds.

    python tests/benchmarks/agreement_claims.py [STUDIES] [SEED]

The first table has a line for each kind of panel, of the size that the line says: the share of
attributes on which it is said to agree well, only loosely, to agree but not certainly how well, to
agree in a single condition, and not above chance; and of studies that say any of the first four.
In each study the sets differ by as much as the line says (standard deviation over the sets, in
score points; a score scatters by 0.7, and an evaluator's taste by 0.4); contrary evaluators hear
the same the other way round.

The second table draws evaluators from one kind of people: how often the interval lies above W,
below it, and above what chance gives on average.
"""

import sys
from collections import Counter
from pathlib import Path

import numpy as np
import numpy.typing as npt
from scipy.stats import rankdata

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parents[1])]

from benchmarks.false_claims import Panel, invented  # noqa: E402 (found by the path above)

from ratings.findings.agreement import agreement  # noqa: E402
from ratings.statistics.agreement.kendall import concordance  # noqa: E402
from ratings.study.attributes import Scale  # noqa: E402

Array = npt.NDArray[np.float64]

#: Panel, and how many of its evaluators are contrary.
PANELS = {
    "nothing differs": (Panel(attributes=4), 0),
    "nothing differs, 8 attributes": (Panel(attributes=8), 0),
    "nothing differs, one unreliable": (Panel(attributes=4, use=0.25, wild=1), 0),
    "nothing differs, 10 evaluators": (Panel(attributes=4, evaluators=10), 0),
    "a little (0.3)": (Panel(attributes=4, effect=0.3), 0),
    "clearly (0.8)": (Panel(attributes=4, effect=0.8), 0),
    "clearly (0.8), 3 evaluators": (Panel(attributes=4, effect=0.8, evaluators=3), 0),
    "clearly (0.8), one contrary": (Panel(attributes=4, effect=0.8), 1),
    "clearly (0.8), two contrary": (Panel(attributes=4, effect=0.8), 2),
    "clearly, 10, one contrary": (Panel(attributes=4, effect=0.8, evaluators=10), 1),
}
DEGREES = "well", "loosely", "not certain", "in a condition", "not above chance"
#: Evaluators, sets, spread of the sets in scatters, uneven scatter, share of contrary evaluators.
KINDS = [
    (evaluators, sets, spread, uneven, contrary)
    for evaluators in (3, 4, 6, 12)
    for sets in (3, 4, 6)
    for spread, uneven, contrary in (
        (0, 0.0, 0.0), (1, 0.0, 0.0), (2, 0.5, 0.0), (4, 0.0, 0.0), (2, 0.0, 1 / 6),
    )
]  # fmt: skip


def degrees(panel: Panel, contrary: int, rng: np.random.Generator) -> list[str]:
    """Return what is said of each attribute of one study."""
    table = invented(panel, rng)
    turned = table["evaluator"].isin([f"E{number + 1}" for number in range(contrary)])
    table.loc[turned, "score"] = 11 - table.loc[turned, "score"]
    blocks = [block for block in agreement(table, Scale()) if block.condition is None]
    return ["in a condition" if block.agrees_in else block.degree for block in blocks]


def print_claims(studies: int, seed: int) -> None:
    """Print the first table."""
    print(f"{'sets differ':34s}{''.join(f'{name:>18s}' for name in DEGREES)}{'studies':>12s}")
    for name, (panel, contrary) in PANELS.items():
        said: Counter[str] = Counter()
        claiming = 0
        for study in range(studies):
            each = degrees(panel, contrary, np.random.default_rng([seed, study]))
            said.update(each)
            claiming += any(degree in DEGREES[:4] for degree in each)
        shares = "".join(f"{100 * said[each] / said.total():16.1f} %" for each in DEGREES)
        print(f"{name:34s}{shares}{100 * claiming / studies:10.1f} %", flush=True)


def ranks(
    kind: tuple[int, int, float, float, float], panels: int, rng: np.random.Generator
) -> Array:
    """Draw panels, shape (panels, evaluators, sets), as ranks around 0."""
    evaluators, sets, spread, uneven, contrary = kind
    people = panels, evaluators, 1
    true = np.where(rng.random(people) < contrary, -1, 1) * np.linspace(0, spread, sets)
    scatter = np.exp(rng.normal(0, uneven, people))
    scores = true + scatter * rng.normal(size=(panels, evaluators, sets))
    return np.asarray(rankdata(scores, axis=2) - (sets + 1) / 2)


def print_coverage(panels: int, seed: int) -> None:
    """Print the second table."""
    print(f"\n{'panel':46s}{'W':>8s}{'above W':>10s}{'below W':>10s}{'above chance':>14s}")
    for kind in KINDS:
        evaluators, sets, spread, uneven, contrary = kind
        rng = np.random.default_rng(seed)
        one, other = np.moveaxis(ranks((2, *kind[1:]), 20_000, rng), 1, 0)
        correlation = float((one * other).sum() / np.square(one).sum())
        w = (1 + (evaluators - 1) * correlation) / evaluators
        found = [concordance(panel) for panel in ranks(kind, panels, rng)]
        known = [(c.lower, c.upper) for c in found if c.lower is not None and c.upper is not None]
        lower, upper = np.array(known).T
        name = f"{evaluators} x {sets}, spread {spread:g}" + (", uneven scatter" if uneven else "")
        name += ", 1 in 6 contrary" if contrary else ""
        certain = np.mean([c.is_common_order_certain for c in found])
        shares = 100 * np.mean(lower > w), 100 * np.mean(upper < w), 100 * certain
        print(f"{name:46s}{w:8.2f}{shares[0]:8.1f} %{shares[1]:8.1f} %{shares[2]:12.0f} %")


def main() -> None:
    """Print both tables; 300 studies without arguments."""
    given = [int(each) for each in sys.argv[1:]]
    studies, seed = [*given, *(300, 1)[len(given) :]]
    print_claims(studies, seed)
    print_coverage(4 * studies, seed)


if __name__ == "__main__":
    main()
