"""Who is to be looked at, and why: one judgement of each evaluator over the whole study."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from ratings.findings.numbered_scores import NumberedScores
from ratings.findings.pair_findings import HiddenPairs, hidden_pairs, side_of_pairs
from ratings.findings.pair_pace import PaceFinding, PaceLimits
from ratings.findings.stray_scores import StrayScore, stray_scores
from ratings.statistics.adjusted_p import holm
from ratings.statistics.agreement.evaluator_tests import (
    FollowingTest,
    ScatterTest,
    Soundness,
    best_place,
    following_test,
    pooled_p,
    sameness_p,
    scatter_test,
)
from ratings.statistics.agreement.pair_habits import SideTest
from ratings.statistics.agreement.profile_agreement import ProfileAgreement, profile_agreement
from ratings.statistics.agreement.residual_scatter import ResidualScatter, residual_scatter
from ratings.statistics.cells import gather_cells
from ratings.study.attributes import Scale

Matrix = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]

#: Level at which the sets count as turned round, of somebody who is flagged already.
TURNED_P = 0.01
#: Level at which the other attributes show it too, of somebody who is flagged already.
ALONE_P = 0.05


@dataclass(frozen=True, slots=True)
class FitnessLimits:
    """When an evaluator is worth a look: settings, our judgement.

    Attributes
    ----------
    alpha
        Chance that anybody at all is flagged in a study whose evaluators are all sound, over all
        evaluators, attributes and reasons together (Holm). Each of six is then flagged in 2 % of
        studies at most. The pace is no part of it.
    side_bias
        In score points: a smaller one is passed over, however certain it is.
    stray
        In score points: a single score that lies nearer is no slip.
    sound
        How much sound evaluators may differ.
    fewest_evaluators
        Of fewer, it cannot be told which one is odd.
    pace
        When an evaluator is much faster than the panel.
    """

    alpha: float = 0.1
    side_bias: float = 0.5
    stray: float = 3.5
    sound: Soundness = field(default_factory=Soundness)
    fewest_evaluators: int = 4
    pace: PaceLimits = field(default_factory=PaceLimits)

    @classmethod
    def for_scale(cls, scale: Scale) -> "FitnessLimits":
        """Return the default limits, stretched to a scale of another length."""
        stretch, usual = (scale.high - scale.low) / 9, cls()
        return replace(
            usual,
            side_bias=usual.side_bias * stretch,
            stray=usual.stray * stretch,
            sound=replace(usual.sound, least_scatter=usual.sound.least_scatter * stretch),
        )


@dataclass(frozen=True, slots=True)
class EvaluatorJudgement:
    """What to look at in one evaluator.

    Attributes
    ----------
    reasons
        In words, with the figures; an evaluator with any of them is flagged.
    stray
        One score that looks like a slip; no flag.
    """

    reasons: tuple[str, ...] = ()
    stray: StrayScore | None = None


def judge_evaluators(
    scores: NumberedScores, limits: FitnessLimits, paces: Mapping[str, PaceFinding]
) -> dict[str, EvaluatorJudgement]:
    """Judge every evaluator over all attributes and conditions together.

    Parameters
    ----------
    scores
        The whole study.
    paces
        Time per pair by evaluator, of those who have one.

    Notes
    -----
    Five questions about each: scatter off the own picture of the sets, following the others'
    differences, error on hidden pairs, side bias, and whether all scores are the same. Their p are
    adjusted together (Holm), so that a sound panel is left in peace in nine of ten studies;
    `tests/benchmarks/false_flags.py` counts.
    """
    given = scores.only(~np.isnan(scores.score))
    rated = np.unique(given.evaluator)
    reasons: dict[int, list[str]] = {int(who): [] for who in rated}
    strays: dict[int, StrayScore] = {}
    if rated.size >= limits.fewest_evaluators:
        strays = stray_scores(given, limits.stray, limits.sound.least_scatter, limits.alpha)
        is_stray = np.isin(np.arange(given.score.size), [each.row for each in strays.values()])
        for who, reason in _reasons(_evidence(given.only(~is_stray), limits.sound), limits):
            reasons[who].append(reason)
    for who, told in reasons.items():
        pace = paces.get(scores.evaluators[who])
        if pace is not None and pace.reason:
            told.append(pace.reason)
    return {
        scores.evaluators[who]: EvaluatorJudgement(tuple(told), strays.get(who))
        for who, told in reasons.items()
    }


@dataclass(frozen=True, slots=True)
class _Evidence:
    """Each question over all attributes, and the first two on each of several as well."""

    attributes: tuple[str, ...]
    sound: Soundness
    own: ResidualScatter
    like: ProfileAgreement
    scatter: tuple[ScatterTest, ...]
    following: tuple[FollowingTest, ...]
    sameness: Matrix
    hidden: HiddenPairs | None
    hidden_p: Matrix
    side: SideTest | None


def _evidence(given: NumberedScores, sound: Soundness) -> _Evidence:
    attributes, evaluators = len(given.attributes), len(given.evaluators)
    own = residual_scatter(
        given.score,
        (given.attribute, given.evaluator, given.set_, given.condition),
        (attributes, evaluators, len(given.conditions)),
    )
    like = profile_agreement(_set_means(given))
    each = [slice(place, place + 1) for place in range(attributes if attributes > 1 else 0)]
    parts = [slice(None), *each]
    scatter = tuple(scatter_test(own.on(part), sound) for part in parts)
    hidden, nothing = hidden_pairs(given), np.full(evaluators, np.nan)
    return _Evidence(
        attributes=given.attributes,
        sound=sound,
        own=own,
        like=like,
        scatter=scatter,
        following=tuple(following_test(like.on(part), sound) for part in parts),
        sameness=sameness_p(given.score, given.evaluator, given.attribute, evaluators, sound),
        hidden=hidden,
        hidden_p=nothing if hidden is None else _hidden_p(hidden, scatter[0], sound),
        side=side_of_pairs(given, sound.least_scatter),
    )


def _set_means(given: NumberedScores) -> Matrix:
    shape = len(given.evaluators), len(given.sets), len(given.conditions)
    means = []
    for attribute in range(len(given.attributes)):
        rows = given.attribute == attribute
        where = given.evaluator[rows], given.set_[rows], given.condition[rows]
        means.append(gather_cells(given.score[rows], *where, shape).set_means())
    return np.array(means).reshape(-1, *shape[:2])


def _reasons(found: _Evidence, limits: FitnessLimits) -> Iterator[tuple[int, str]]:
    """Adjust all p together, and say in words what stays."""
    scatter, following = (
        (np.array([test.p for test in tests]), pooled_p(np.array([test.p for test in tests])))
        for tests in (found.scatter, found.following)
    )
    side_p = np.full(found.sameness.size, np.nan) if found.side is None else found.side.p
    p = np.array([scatter[1], following[1], found.hidden_p, side_p, found.sameness])
    is_odd = holm(p.ravel()).reshape(p.shape) <= limits.alpha
    for who in np.flatnonzero(is_odd.any(axis=0)).tolist():
        odd = is_odd[:, who]
        if odd[4]:
            yield who, _same_words(found)
        if odd[0]:
            yield who, _scatter_words(found, who, scatter[0][:, who])
        # Who gives one score throughout, or any score, follows nobody: said once.
        if odd[1]:
            is_turned, words = _following_words(found, who, following[0][:, who])
            if is_turned or not (odd[0] or odd[4]):
                yield who, words
        if odd[2] and found.hidden is not None:
            yield who, _hidden_words(found, found.hidden, who)
        if odd[3] and found.side is not None and abs(found.side.bias[who]) > limits.side_bias:
            yield who, _side_words(found.side, who)


def _side_words(side: SideTest, who: int) -> str:
    bias = side.bias[who]
    return f"rates {'A' if bias > 0 else 'B'} higher by {abs(bias):.1f} in {side.pairs[who]} pairs"


def _same_words(found: _Evidence) -> str:
    number = len(found.attributes)
    return f"gives one score throughout{f', on each of {number} attributes' if number > 1 else ''}"


def _scatter_words(found: _Evidence, who: int, p: Matrix) -> str:
    place = _place(p, lambda rest: scatter_test(found.own.on(rest), found.sound).p[who])
    test, where = found.scatter[place], _on(found, place) or _over_all(found)
    own, others = test.sd[who], test.others_sd[who]
    return (
        f"scatters {own / others:.1f} times as much as the others{where}: "
        f"SD {own:.1f} points, others {others:.1f}"
    )


def _following_words(found: _Evidence, who: int, p: Matrix) -> tuple[bool, str]:
    """Tell whether somebody ranks the sets the other way round, and say what was found."""
    place = _place(p, lambda rest: following_test(found.like.on(rest), found.sound).p[who])
    test = found.following[place]
    judged = np.flatnonzero(test.judged[:, who])
    where = _on(found, place)
    if not place and judged.size == 1:
        where = _on(found, 1 + int(judged[0]))
    elif not place:
        where = _over_all(found, judged.size)
    if test.p_turned[who] <= TURNED_P:
        turned = f"ranks the sets the other way round{where}"
        return True, f"{turned}: correlation with the others {test.correlation[who]:.2f}"
    share = max(100 * float(np.nan_to_num(test.slope[who])), 0.0)
    return False, f"follows {share:.0f} % of the differences that the others hear{where}"


def _place(p: Matrix, p_on: Callable[[Codes], float]) -> int:
    """Choose where a reason holds: over all attributes (0), or on one alone.

    Parameters
    ----------
    p
        Over all attributes, then on each.
    p_on
        The same over chosen attributes: one alone is named only where the rest shows nothing.
    """
    place = best_place(p)
    if not place or len(p) < 3:
        return 0
    rest = np.delete(np.arange(len(p) - 1), place - 1)
    return 0 if p[0] <= ALONE_P and p_on(rest) <= ALONE_P else place


def _on(found: _Evidence, place: int) -> str:
    several = len(found.attributes) > 1
    return f" on {found.attributes[place - 1].replace('_', ' ')}" if place and several else ""


def _hidden_p(hidden: HiddenPairs, scatter: ScatterTest, sound: Soundness) -> Matrix:
    return scatter.excess_p(hidden.squares, hidden.counts, hidden.worst, sound)


def _hidden_words(found: _Evidence, hidden: HiddenPairs, who: int) -> str:
    told = []
    if not np.isnan(hidden.null_apart[who]):
        told.append(f"null pairs {hidden.null_apart[who]:.1f} apart")
    if not np.isnan(hidden.repeat_apart[who]):
        told.append(f"repeats {hidden.repeat_apart[who]:.1f} from the first time")
    return (
        f"scores {' and '.join(told)}{_over_all(found)} (root mean square): "
        f"more than the others' scatter of {found.scatter[0].others_sd[who]:.1f} explains"
    )


def _over_all(found: _Evidence, judged: int | None = None) -> str:
    number = len(found.attributes)
    if judged is not None and judged < number:
        return f" over {judged} of {number} attributes"
    return f" over {number} attributes" if number > 1 else ""
