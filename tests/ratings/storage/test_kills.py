import os
import random

import pytest
from studies import small_study
from study_damage import rated_study
from study_kills import copy_and_die, make_and_die, open_old_and_die, rate_and_die

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(os.name != "posix", reason="elsewhere there is neither fork nor SIGKILL"),
    # A worker of the test run may have threads; the forked child starts none and ends by _exit.
    pytest.mark.filterwarnings("ignore::DeprecationWarning"),
]


def test_that_no_score_that_was_told_is_lost_when_a_seat_is_killed(tmp_path):
    study = small_study(tmp_path)
    study.close()
    told = sum(rate_and_die(study.folder.path, random.Random(seed)) for seed in range(30))
    assert told > 30


def test_that_a_study_killed_on_its_way_to_today_s_tables_keeps_its_scores(tmp_path):
    died = [open_old_and_die(tmp_path / "old", random.Random(seed)) for seed in range(20)]
    assert any(died)


def test_that_a_copy_or_a_study_that_was_killed_is_whole_or_not_there(tmp_path):
    whole = rated_study(tmp_path / "whole")
    died = [copy_and_die(whole, tmp_path, random.Random(seed)) for seed in range(10)]
    died += [make_and_die(tmp_path, random.Random(seed)) for seed in range(10)]
    assert any(died)
