"""What is promised of a panel, beside the verdicts on panels like it."""

import numpy as np
import pytest
from benchmarks.claim_power import Panel, called_clear

STUDIES = 50


@pytest.mark.slow
def test_that_verdicts_find_what_the_plan_and_the_rows_promise():
    # Seeded; 150 sets that differ, in half points: standard error 3.3 %.
    panel = Panel(evaluators=6, sets=4, attributes=3, conditions=1)
    done = [called_clear(panel, 1, study) for study in range(STUDIES)]
    clear = sum(each[0] for each in done) / (STUDIES * (panel.sets - 1))
    assert clear == pytest.approx(0.8, abs=0.08)
    # The formula's chance at what the rows would say: standard error 1.5 %. A row's degrees of
    # freedom are an estimate too, which makes it a little cautious.
    reach = np.mean([chance for each in done for chance in each[1]])
    assert reach == pytest.approx(0.8, abs=0.05)
