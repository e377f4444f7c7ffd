"""How long each pair took, from the events of real sessions."""

import pytest
from studies import Clock, rate_pair, small_study

from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import ListeningDesk, session_seats


@pytest.fixture
def study(tmp_path):
    study = small_study(tmp_path, sets=3)
    yield study
    study.close()


@pytest.fixture
def lead(study):
    return LeadDesk(study)


def listen(study, seat=0, step_s=1.0):
    clock = Clock(step_s)
    return ListeningDesk(study, session_seats(study)[seat].session_id, clock), clock


def test_that_every_closed_pair_has_its_time_and_its_role(study, lead):
    first, _ = listen(study, 0, step_s=10.0)
    second, _ = listen(study, 1, step_s=2.0)
    for pair in first.pairs:
        rate_pair(first, pair)
    rate_pair(second, second.pairs[0])
    second.record_opened(second.pairs[1].pair_id)
    table = lead.pair_times()
    assert list(table.columns) == ["evaluator", "pair", "role", "seconds", "both_sides_s"]
    # Opened, heard A, heard B, two attributes, locked: five steps.
    assert table["evaluator"].tolist() == ["E1"] * len(first.pairs) + ["E2"]
    assert table["pair"].tolist() == [*(pair.position for pair in first.pairs), 1]
    assert table["seconds"].tolist() == [50.0] * len(first.pairs) + [10.0]
    roles = lead.score_table().drop_duplicates(["evaluator", "pair"])["role"].tolist()
    assert table["role"].tolist() == roles
    assert {"candidate", "null", "repeat"} == set(roles)
    both_s = [pair.clip_a.duration_s + pair.clip_b.duration_s for pair in first.pairs]
    assert table["both_sides_s"].tolist()[:-1] == pytest.approx(both_s)


def test_that_both_sides_are_as_long_as_their_clips_together(study, lead):
    listening, _ = listen(study)
    # Clips are cut alike; these are made to differ, past the desks.
    with study.engine.begin() as connection:
        connection.exec_driver_sql(
            "UPDATE clip SET sample_rate_hz = 8000, frames = 8000 * "
            "(SELECT COUNT(*) FROM clip AS other WHERE other.clip_id <= clip.clip_id)"
        )
        ids = (
            connection.exec_driver_sql("SELECT clip_id FROM clip ORDER BY clip_id").scalars().all()
        )
    for pair in listening.pairs:
        rate_pair(listening, pair)
    length_s = dict(zip(ids, range(1, len(ids) + 1), strict=True))
    both_s = [length_s[p.clip_a.clip_id] + length_s[p.clip_b.clip_id] for p in listening.pairs]
    assert len(set(both_s)) > 1
    assert lead.pair_times()["both_sides_s"].tolist() == both_s


def test_that_a_pair_taken_up_again_counts_from_the_last_time(study, lead):
    listening, clock = listen(study)
    pair = listening.pairs[0]
    listening.record_opened(pair.pair_id)
    clock.step *= 300
    listening.record_heard(pair.pair_id, "A")
    clock.step /= 300
    rate_pair(listening, pair)
    assert lead.pair_times()["seconds"].tolist() == [5.0]


def test_that_an_idle_hour_is_a_quarter_of_one(study, lead):
    listening, _ = listen(study, step_s=3600.0)
    rate_pair(listening, listening.pairs[0])
    assert lead.pair_times()["seconds"].tolist() == [900.0]


def test_that_a_clock_that_is_put_back_leaves_the_pair_without_a_time(study, lead):
    listening, clock = listen(study, step_s=-60.0)
    rate_pair(listening, listening.pairs[0])
    clock.step = -clock.step
    rate_pair(listening, listening.pairs[1])
    assert lead.pair_times()["pair"].tolist() == [2]


def test_that_without_a_closed_pair_the_table_is_empty_and_still_of_numbers(lead):
    table = lead.pair_times()
    assert len(table) == 0
    assert table["seconds"].dtype == table["both_sides_s"].dtype == "float64"


def test_that_the_time_left_is_told_from_the_same_times(study, lead):
    listening, _ = listen(study, step_s=7.0)
    before_s = listening.seconds_left() / len(listening.pairs)
    for pair in listening.pairs[:3]:
        rate_pair(listening, pair)
    (own_s,) = set(lead.pair_times()["seconds"])
    left = len(listening.pairs) - 3
    assert listening.seconds_left() == pytest.approx(left * (own_s + before_s) / 2)
