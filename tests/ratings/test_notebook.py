import math

import pytest
from studies import rate_pair, small_study

import ratings
from ratings.storage.key import open_key
from ratings.storage.listening_desk import ListeningDesk, session_seats


def test_that_a_notebook_gets_scores_and_measurements_in_two_lines(tmp_path):
    made = small_study(tmp_path)
    desk = ListeningDesk(made, session_seats(made)[0].session_id)
    rate_pair(desk, desk.pairs[0])
    made.close()

    study = ratings.open_study(tmp_path / "study")
    scores, levels = study.score_table(), study.measurement_table()

    assert list(scores["score"]) == [7.0, 7.0, 6.0, 6.0]
    assert set(scores["set"]) <= set(study.codes())
    assert set(levels.columns) == {"set", "condition", "run", "channel", "figure", "unit", "value"}
    assert set(levels["unit"]) == {"dB re full scale"}
    # White noise of rms 0.05; up to 4 kHz the A weighting changes little in all.
    equivalent = levels[levels["figure"] == "clip_leq_a"]["value"]
    assert list(equivalent) == [pytest.approx(20 * math.log10(0.05), abs=1.5)] * 2


def test_that_a_notebook_gets_settings_and_names_in_a_line_each(tmp_path):
    small_study(tmp_path).close()
    study = ratings.open_study(tmp_path / "study")
    assert study.settings().limits.matters == 0.5
    open_key(study.study, "Ida", "all are finished")
    assert sorted(study.set_names()) == list(study.codes())
    assert set(study.set_names().values()) == {"Maple", "Birch"}
