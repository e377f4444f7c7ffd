"""Core loudness against the standard's steps done in decibels, one after the other."""

import math

import numpy as np
import pytest

from ratings.acoustics.loudness import tables
from ratings.acoustics.loudness.core_loudness import core_loudness


def in_decibels(levels_db, field: str) -> list[float]:
    """ISO 532-1:2017, clause 5 and annex A, for one spectrum."""
    low = []
    for band in range(11):
        for range_, end_db in enumerate(tables.LOW_FREQUENCY_RANGES_DB):
            reduction_db = tables.LOW_FREQUENCY_REDUCTIONS_DB[range_][band]
            if levels_db[band] + reduction_db <= end_db:
                break
        low.append(10 ** ((levels_db[band] + reduction_db) / 10))
    critical_db = [10 * math.log10(sum(low[a:b])) for a, b in ((0, 6), (6, 9), (9, 11))]
    found = []
    for band, level in enumerate([*critical_db, *levels_db[11:]]):
        level_db = level - tables.EAR_TRANSMISSION_DB[band]
        level_db += tables.DIFFUSE_FIELD_DB[band] * (field == "diffuse")
        threshold_db = tables.THRESHOLDS_IN_QUIET_DB[band]
        if level_db <= threshold_db:
            found.append(0.0)
            continue
        level_db -= tables.CRITICAL_BAND_ADAPTATION_DB[band]
        excess = 0.75 + 0.25 * 10 ** ((level_db - threshold_db) / 10)
        found.append(max(0.0, 0.0635 * 10 ** (0.025 * threshold_db) * (excess**0.25 - 1)))
    found[0] *= min(1.0, 0.4 + 0.32 * found[0] ** 0.2)
    return found


@pytest.mark.parametrize("field", ["free", "diffuse"])
def test_that_the_short_way_over_powers_gives_what_decibels_give(field) -> None:
    levels_db = np.random.default_rng(1).uniform(-5, 118, (28, 400))
    found = core_loudness(10 ** (levels_db / 10), field)
    expected = np.array([in_decibels(spectrum, field) for spectrum in levels_db.T]).T
    assert found == pytest.approx(expected, rel=1e-9, abs=1e-12)


def test_that_what_lies_at_the_threshold_has_no_loudness() -> None:
    levels_db = np.full(28, -200.0)
    levels_db[16] = 3.0
    assert not core_loudness(10 ** (levels_db[:, None] / 10), "free").any()
    levels_db[16] = 6.0
    assert core_loudness(10 ** (levels_db[:, None] / 10), "free")[8, 0] > 0
