"""How often looks at a running study claim what is not there, and what they find, and when.

    python tests/benchmarks/looks.py [STUDIES] [SEED] [--whole STUDIES] [--panel NAME ...]

Somebody looks after every evaluator from the second to the last one planned. Of panels on which no
set differs: the share of studies in which a t test that is looked at each time claims a set (alone,
and at its Bonferroni share), in which our looks do, in which our looks or the fixed test at the end
do, and in which looks do that go on to twice the plan with the bound that holds for ever. Of panels
with differences: the share that the fixed test at the end finds, that looks or this test find, and
how many evaluators have finished when a difference is settled; then how often "k more evaluators
would likely settle it" came true. Last, with ``--whole``, some studies through the program from the
score table to its sentence and the final verdict.
"""

# ruff: noqa: E402 (the rooms are found by the path that is set first)
import argparse
import sys
from pathlib import Path
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parents[1])]

from ratings.statistics.distributions import t_quantile
from ratings.statistics.planning.claim_power import FEWEST_TO_CLAIM
from ratings.statistics.sequential.looks import LOOK_SHARE, Plan, bounds_by_holm, look_at
from ratings.statistics.sequential.mixture import t_to_reach
from ratings.statistics.sequential.outlook import LIKELY, Known, chance_to_settle
from ratings.study.constants import ALPHA

Array = npt.NDArray[np.float64]

MARGIN = 0.5
CHUNK = 500


class Panel(NamedTuple):
    """Evaluators who score pairs of a candidate and the control; in score points.

    Attributes
    ----------
    step
        Of the scores.
    taste, scatter
        Standard deviations of an evaluator's own opinion of a set, and of a score.
    own_condition
        Of his own opinion of a set in one condition.
    swing
        By so much each candidate is better in the first condition and worse in the last; no
        difference on average.
    use
        How unevenly evaluators scatter, as the SD of a factor's logarithm.
    wild
        How many of them scatter three times as much.
    effect
        Standard deviation of the true differences; a half of them, by lot, is zero.
    is_skewed
        Whether opinions are exponential: most a little one way, few far the other, none on average.
    """

    planned: int = 8
    candidates: int = 3
    attributes: int = 3
    conditions: int = 1
    step: float = 0.5
    taste: float = 0.4
    scatter: float = 0.5
    own_condition: float = 0.0
    swing: float = 0.0
    use: float = 0.0
    wild: int = 0
    effect: float = 0.0
    is_skewed: bool = False

    @property
    def comparisons(self) -> int:
        """How many differences are claimed about."""
        return self.candidates * self.attributes

    @property
    def rounding(self) -> float:
        """Variance that the steps give an evaluator's mean difference."""
        return self.step**2 / 6 / self.conditions


NULL = {
    "one difference, half points": Panel(candidates=1, attributes=1),
    "one difference, 16 evaluators": Panel(planned=16, candidates=1, attributes=1),
    "3 sets, 3 attributes": Panel(),
    "3 sets, 7 attributes, quarters": Panel(attributes=7, step=0.25),
    "12 evaluators": Panel(planned=12),
    "uneven scatter": Panel(use=0.5),
    "one wild evaluator": Panel(use=0.25, wild=1),
    "set x condition": Panel(conditions=3, swing=1.5, own_condition=0.5),
    "sharper than the steps": Panel(taste=0.0, scatter=0.15),
    "whole points, sharp": Panel(step=1.0, taste=0.0, scatter=0.3),
    "opinions all to one side": Panel(is_skewed=True, taste=0.8, scatter=0.2),
    "four evaluators": Panel(planned=4, candidates=1, attributes=1),
}
REAL = {
    "one difference, 16 evaluators": Panel(planned=16, candidates=1, attributes=1, effect=1.2),
    "3 sets, 3 attributes": Panel(effect=1.2),
    "3 sets, 3 attributes, 12": Panel(planned=12, effect=1.2),
    "uneven scatter": Panel(use=0.5, effect=1.2),
    "3 conditions": Panel(conditions=3, own_condition=0.3, effect=0.8),
}


def drawn(panel: Panel, evaluators: int, rng: np.random.Generator) -> tuple[Array, Array]:
    """Return evaluators' mean differences, shape (evaluators, studies, comparisons), and truth."""
    shape = evaluators, CHUNK, panel.comparisons
    true = np.where(rng.random(shape[1:]) < 0.5, 0.0, rng.normal(0.0, panel.effect, shape[1:]))
    use = np.exp(rng.normal(0.0, panel.use, shape[:2]))
    use[: panel.wild] *= 3.0
    use = rng.permuted(use, axis=0)[:, :, None]
    taste = rng.exponential(1.0, shape) - 1 if panel.is_skewed else rng.normal(size=shape)
    opinion = true + use * panel.taste * taste
    total = np.zeros(shape)
    for condition in range(panel.conditions):
        place = 0.0 if panel.conditions == 1 else 1 - 2 * condition / (panel.conditions - 1)
        own = opinion + panel.swing * place + rng.normal(0.0, panel.own_condition, shape)
        level = rng.normal(6.0, 0.5, shape)
        sides = (
            level + side + use * rng.normal(0.0, panel.scatter, shape) for side in (own, 0 * own)
        )
        candidate, control = (
            np.clip(np.round(side / panel.step) * panel.step, 1.0, 10.0) for side in sides
        )
        total += candidate - control
    return np.round(total / panel.conditions, 9), true


class Course(NamedTuple):
    """What looks say of some studies; arrays (looks, studies, comparisons) from 2 evaluators on.

    Attributes
    ----------
    t
        Student's, without regard for the steps: what a spreadsheet says.
    mean, sd, evidence
        As `ratings.statistics.sequential.looks.Looked`.
    """

    t: Array
    mean: Array
    sd: Array
    evidence: Array


def looked(panel: Panel, values: Array) -> Course:
    """Look after every evaluator from the second on."""
    shape = values.shape[1:]
    flat = values.reshape(len(values), -1)
    found = []
    for count in range(2, len(values) + 1):
        look, plain = look_at(flat[:count], panel.rounding), look_at(flat[:count], 1e-9)
        t = plain.mean / plain.sd * np.sqrt(count)
        found.append((t, look.mean, look.sd, look.evidence))
    return Course(*(np.array(each).reshape(-1, *shape) for each in zip(*found, strict=True)))


def _reaches(course: Course, bound: float, first: int, last: int) -> npt.NDArray[np.bool_]:
    """Tell which evidence reaches a bound at a look with so many evaluators."""
    first = max(first, FEWEST_TO_CLAIM)
    part = course.evidence[first - 2 : last - 1]
    return np.asarray((part >= bound).any(axis=0) if len(part) else np.zeros(part.shape[1:], bool))


def _fixed(panel: Panel, course: Course) -> npt.NDArray[np.bool_]:
    """Tell what the fixed test calls clear at the plan's end, at its Bonferroni share."""
    critical = t_quantile(1 - ALPHA / panel.comparisons / 2, panel.planned - 1)
    return np.asarray(np.abs(course.t[panel.planned - 2]) >= critical)


def false_claims(panel: Panel, studies: int, rng: np.random.Generator) -> Array:
    """Return shares of null studies with a false claim.

    Of naive looks at each t alone and at its Bonferroni share, of our looks, of our looks or the
    fixed test at the end, and of looks that go on past the plan with the bound that holds for ever.
    """
    counts = np.zeros(5)
    planned, alone = panel.planned, Plan(panel.planned)
    for _ in range(studies // CHUNK):
        values, _ = drawn(panel, 2 * planned, rng)
        course = looked(panel, values)
        naive = []
        for share in (1, panel.comparisons):
            critical = [t_quantile(1 - ALPHA / share / 2, n - 1) for n in range(3, planned + 1)]
            t = np.abs(course.t[1 : planned - 1])
            naive.append((t >= np.array(critical)[:, None, None]).any(axis=0))
        looks = _reaches(course, alone.bound(panel.comparisons), 2, planned - 1)
        ever = _reaches(course, Plan(None).bound(panel.comparisons), planned + 1, 2 * planned)
        claimed = [*naive, looks, looks | _fixed(panel, course), ever]
        counts += [each.any(axis=1).sum() for each in claimed]
    return counts / (studies // CHUNK * CHUNK)


class Found(NamedTuple):
    """What is found of true differences, and how often what was called likely came true."""

    by_the_end: float
    with_looks: float
    finished: float
    promises: int
    kept: float


def found(panel: Panel, studies: int, rng: np.random.Generator) -> Found:
    """Look at studies with differences, and keep count of promises in one study of twenty."""
    true_ones, ends, either, stops, promises = 0, 0, 0, 0.0, []
    plan = Plan(panel.planned)
    for _ in range(studies // CHUNK):
        values, true = drawn(panel, panel.planned, rng)
        course = looked(panel, values)
        fixed, is_true = _fixed(panel, course), true != 0
        settled = np.zeros(course.t.shape, dtype=bool)
        settled[-1] = fixed
        for n in range(FEWEST_TO_CLAIM, panel.planned):
            for study in range(CHUNK):
                settled[n - 2, study] = bounds_by_holm(course.evidence[n - 2, study], plan.bound)[1]
        any_ = settled.any(axis=0)
        first = np.where(any_, settled.argmax(axis=0) + 2, panel.planned)
        true_ones += int(is_true.sum())
        ends += int((fixed & is_true).sum())
        either += int((any_ & is_true).sum())
        stops += float(first[is_true].sum())
        for study in range(0, CHUNK, 20):
            promises += _promises(panel, plan, course, settled[:, study], study)
    kept = float(np.mean(promises)) if promises else np.nan
    shares = ends / true_ones, either / true_ones, stops / true_ones
    return Found(*shares, len(promises), kept)


def _promises(
    panel: Panel, plan: Plan, course: Course, settled: npt.NDArray[np.bool_], study: int
) -> list[bool]:
    """Tell of each "k more evaluators would likely settle it" whether it came true."""
    made = []
    critical = t_quantile(1 - ALPHA / panel.comparisons / 2, panel.planned - 1)
    for n in range(FEWEST_TO_CLAIM, panel.planned):
        now = settled[: n - 1].any(axis=0)
        bound = plan.bound(int((~now).sum()) or 1)
        clear = [t_to_reach(bound, count) for count in range(n + 1, panel.planned + 1)]
        clear[-1] = critical
        usual = float(np.sqrt(np.square(course.sd[n - 2, study]).mean()))
        for place in np.flatnonzero(~now):
            known = Known(
                n,
                *(float(part[n - 2, study, place]) for part in course[1:]),
                panel.rounding**0.5,
                usual if panel.comparisons > 1 else None,
            )
            never = np.full(len(clear), np.inf)
            chance = chance_to_settle(known, np.array(clear), never, MARGIN)
            if chance[-1] >= LIKELY:
                more = int(np.argmax(chance >= LIKELY)) + 1
                made.append(bool(settled[n - 1 : n - 1 + more, place].any()))
    return made


def whole_studies(name: str, studies: int, seed: int) -> tuple[float, float]:
    """Return shares of null studies with a false claim at a look, and at a look or at the end.

    From the score table to the states and the final verdict, as the program does.
    """
    from benchmarks.false_claims import CONTROL, PANELS, WAYS, invented

    from ratings.findings.differences import differences
    from ratings.findings.differences_words import claims_by_condition
    from ratings.findings.enough import enough
    from ratings.study.attributes import Scale

    at_look = either = 0
    for study in range(studies):
        table = invented(PANELS[name], np.random.default_rng([seed, study]))
        people = sorted(table["evaluator"].unique())
        looks = (
            enough(table, people[:count], CONTROL, Scale(), planned=len(people)).rows
            for count in range(2, len(people))
        )
        wrong = any(row.state in ("settled: better", "settled: worse") for row in sum(looks, ()))
        rows = [row for block in differences(table, CONTROL, Scale()) for row in block.differences]
        ends = any(row.verdict in WAYS or claims_by_condition(row) for row in rows)
        at_look += wrong
        either += wrong or ends
    return at_look / studies, either / studies


def main() -> None:
    """Print the tables for as many studies as asked for; 5,000 without arguments."""
    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("studies", type=int, nargs="?", default=5000)
    parser.add_argument("seed", type=int, nargs="?", default=1)
    parser.add_argument("--whole", type=int, default=0)
    parser.add_argument("--panel", nargs="+", default=[*NULL, *REAL])
    asked = parser.parse_args()
    print(f"Looks may spend {100 * LOOK_SHARE * ALPHA:g} %; percent of {asked.studies} studies.")
    heads = "naive", "naive/m", "looks", "+ end", "extended"
    print(f"{'claimed where nothing is':34s}{''.join(f'{head:>10s}' for head in heads)}")
    for name in (each for each in NULL if each in asked.panel):
        shares = false_claims(NULL[name], asked.studies, np.random.default_rng(asked.seed))
        print(f"{name:34s}{''.join(f'{100 * share:10.2f}' for share in shares)}", flush=True)
    heads = "at end", "with looks", "finished", "promises", "kept %"
    print(f"{'found where something is':34s}{''.join(f'{head:>11s}' for head in heads)}")
    for name in (each for each in REAL if each in asked.panel):
        of = found(REAL[name], asked.studies, np.random.default_rng(asked.seed))
        print(
            f"{name:34s}{100 * of.by_the_end:11.1f}{100 * of.with_looks:11.1f}{of.finished:11.2f}"
            f"{of.promises:11d}{100 * of.kept:11.1f}",
            flush=True,
        )
    if asked.whole:
        for name in ("usual, in pairs", "usual, scores", "sharper than the steps"):
            at_look, either = whole_studies(name, asked.whole, asked.seed)
            print(f"whole: {name:27s}{100 * at_look:10.2f} at a look{100 * either:10.2f} in all")


if __name__ == "__main__":
    main()
