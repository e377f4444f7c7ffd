"""What is said of files that are to become runs."""

from dataclasses import replace
from pathlib import Path

import pytest

from ratings.intake.run_draft import (
    FileDraft,
    SpeedDraft,
    first_draft,
    speed_channel_problem,
    with_role,
    with_speed,
)
from ratings.study.sets import Condition


def test_that_no_channel_is_the_speed_channel_until_it_is_chosen_or_said_to_be():
    draft = FileDraft(Path("x.wav"), roles=("driver left ear", "not used"))
    chosen = with_speed(draft, SpeedDraft("channel"))
    assert speed_channel_problem(chosen) == "choose the speed channel"
    said = with_role(chosen, 1, "speed")
    assert (said.speed.channel, speed_channel_problem(said)) == (2, "")
    assert with_speed(replace(said, speed=SpeedDraft()), SpeedDraft("pulses")).speed.channel == 2


@pytest.mark.parametrize(
    ("stem", "title"),
    [
        ("birch_coarse asphalt_80", "coarse asphalt, 80 km/h"),
        ("Birch_Coarse80_asphalt_run2", "coarse asphalt, 80 km/h"),
        ("birch_smooth_coast-down_80-40", "smooth, coast-down, 80 to 40 km/h"),
        ("birch_smooth_80", "smooth, 80 km/h"),
        ("birch_smooth_100", None),
        ("birch_80", None),
    ],
)
def test_that_a_name_proposes_the_condition_that_alone_fits_it(stem, title):
    conditions = (
        Condition(1, "coarse asphalt", "steady", 80.0),
        Condition(2, "smooth", "coast-down", 80.0, 40.0),
        Condition(3, "smooth", "steady", 80.0),
    )
    chosen = first_draft(Path(f"{stem}.wav"), [], conditions).condition_id
    assert next((c.title for c in conditions if c.condition_id == chosen), None) == title


def test_that_a_channel_said_to_hold_speed_is_proposed_as_the_runs_speed():
    draft = FileDraft(Path("x.wav"), roles=("driver left ear", "not used"))
    changed = with_role(draft, 1, "speed")
    assert changed.roles == ("driver left ear", "speed")
    assert (changed.speed.kind, changed.speed.channel) == ("channel", 2)
    steady = with_role(replace(draft, speed=SpeedDraft("steady")), 1, "speed")
    assert steady.speed.kind == "steady"
