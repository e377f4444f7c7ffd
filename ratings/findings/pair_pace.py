"""How long each evaluator takes over a pair, and who is much faster than the panel."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ratings.statistics.agreement.pair_pace import pair_pace

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class PaceLimits:
    """When somebody is said to be much faster than the panel: settings, our judgement.

    Both must hold. Whoever is quick among the slow, but leaves time to hear each side twice, may
    well listen; where the whole panel is that quick, nobody stands out of it.

    Attributes
    ----------
    share_of_panel
        The median time is below this share of the panel's.
    hearings
        In the median, less time than this many hearings of both sides take. Two: as expected of a
        pair in `ratings.design.session_length.seconds_per_pair`.
    fewest_pairs
        Evaluators with fewer timed pairs are not judged, and do not speak for the panel.
    fewest_evaluators
        Of two, it cannot be told which one is the panel.
    """

    share_of_panel: float = 0.5
    hearings: float = 2.0
    fewest_pairs: int = 5
    fewest_evaluators: int = 3


@dataclass(frozen=True, slots=True)
class PaceFinding:
    """One evaluator's time per pair.

    Attributes
    ----------
    median_s
        Seconds from opening a pair to closing it.
    pairs
        Timed pairs.
    reason
        What to look at, in words; empty when there is nothing.
    """

    median_s: float
    pairs: int
    reason: str = ""


def pace_findings(
    pair_times: "pd.DataFrame", limits: PaceLimits | None = None
) -> dict[str, PaceFinding]:
    """Judge the time per pair of every evaluator that has one, over all their pairs.

    Parameters
    ----------
    pair_times
        As `ratings.storage.lead_desk.LeadDesk.pair_times` returns it.

    Returns
    -------
    dict
        By evaluator. Who has no timed pair is not in it.
    """
    import pandas as pd

    chosen = limits or PaceLimits()
    evaluator, names = pd.factorize(pair_times["evaluator"])
    pace = pair_pace(
        pair_times["seconds"].to_numpy(np.float64),
        pair_times["both_sides_s"].to_numpy(np.float64),
        evaluator,
        len(names),
        chosen.fewest_pairs,
    )
    is_fast = (
        (pace.timed_evaluators >= chosen.fewest_evaluators)
        & (pace.pairs >= chosen.fewest_pairs)
        & (pace.median_s < chosen.share_of_panel * pace.panel_median_s)
        & (pace.median_hearings < chosen.hearings)
    )
    return {
        str(name): PaceFinding(
            median_s=float(pace.median_s[row]),
            pairs=int(pace.pairs[row]),
            reason=_reason(pace.median_s[row], pace.panel_median_s) if is_fast[row] else "",
        )
        for row, name in enumerate(names)
        if pace.pairs[row]
    }


def _reason(own_s: float, panel_s: float) -> str:
    return f"takes {own_s:.0f} s a pair, the panel {panel_s:.0f} s"
