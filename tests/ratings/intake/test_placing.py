from pathlib import Path

import pytest

from ratings.intake.named_driving import driving
from ratings.intake.placing import spread
from ratings.intake.study_draft import Draft


def grid_of(names, draft=None):
    """Spread files of these names and say what the grid reads then."""
    paths = [Path(f"/in/{name}.wav") for name in names.split()]
    outcome = spread(draft or Draft(Path("/out")), paths)
    sets = [tyre_set.name for tyre_set in outcome.draft.sets]
    return outcome, sets, [condition.title for condition in outcome.draft.conditions]


@pytest.mark.parametrize(
    ("names", "sets", "conditions"),
    [
        ("birch_coarse_80 maple_coarse_80", ["birch", "maple"], ["coarse, 80 km/h"]),
        (
            "maple-coarse-80kmh maple-smooth-60kmh birch-coarse-80kmh birch-smooth-60kmh",
            ["maple", "birch"],
            ["coarse, 80 km/h", "smooth, 60 km/h"],
        ),
        (
            "coarse_80_maple smooth_80_maple coarse_80_birch smooth_80_birch",
            ["maple", "birch"],
            ["coarse, 80 km/h", "smooth, 80 km/h"],
        ),
        ("maple_coarse_80 maple_smooth_80", ["maple"], ["coarse, 80 km/h", "smooth, 80 km/h"]),
        (
            "maple_sport_coarse_80 maple_touring_coarse_80",
            ["maple sport", "maple touring"],
            ["coarse, 80 km/h"],
        ),
        ("maple birch", ["maple", "birch"], ["road"]),
        ("CandA_coarse80 CandB_coarse80", ["CandA", "CandB"], ["coarse, 80 km/h"]),
        ("Cand20_coarse80kph Ref20_coarse80kph", ["Cand20", "Ref20"], ["coarse, 80 km/h"]),
        ("A20_coarse_80kmh B20_coarse_80kmh", ["A20", "B20"], ["coarse, 80 km/h"]),
        (
            "maple_coastdown_100-40 birch_coast-down_100-40",
            ["maple", "birch"],
            ["road, coast-down, 100 to 40 km/h"],
        ),
    ],
)
def test_that_names_propose_sets_and_conditions(names, sets, conditions):
    outcome, found_sets, found_conditions = grid_of(names)
    assert (found_sets, found_conditions) == (sets, conditions)
    assert len(outcome.draft.files) == len(names.split())
    assert outcome.left_over == ()


def test_that_each_file_lies_in_the_cell_of_its_own_name():
    draft = grid_of("maple_coarse_80 birch_smooth_60 maple_smooth_60 birch_coarse_80")[0].draft
    names = {s.set_id: s.name for s in draft.sets}
    surfaces = {c.condition_id: c.surface for c in draft.conditions}
    for placed in draft.files:
        assert placed.path.stem.startswith(f"{names[placed.cell[0]]}_{surfaces[placed.cell[1]]}")


def test_that_no_set_is_proposed_as_the_control():
    draft = grid_of("maple_coarse_80 birch_coarse_80 larch_coarse_80")[0].draft
    assert not any(s.is_control for s in draft.sets)


def test_that_a_later_file_joins_the_rows_and_columns_that_are_there():
    begun = grid_of("maple_coarse_80 birch_coarse_80")[0].draft
    _, sets, conditions = grid_of("larch_coarse_80 maple_smooth_80", begun)
    assert sets == ["maple", "birch", "larch"]
    assert conditions == ["coarse, 80 km/h", "smooth, 80 km/h"]


def test_that_a_cell_keeps_its_file_and_the_second_is_left_over():
    begun = grid_of("maple_coarse_80 birch_coarse_80")[0].draft
    outcome = spread(begun, [Path("/other/maple_coarse_80.wav")])
    assert outcome.draft == begun
    assert outcome.left_over == (Path("/other/maple_coarse_80.wav"),)


def test_that_a_file_chosen_again_stays_where_it_is():
    begun = grid_of("maple_coarse_80 birch_coarse_80")[0].draft
    outcome = spread(begun, [Path("/in/maple_coarse_80.wav")])
    assert outcome.draft == begun
    assert outcome.left_over == ()


@pytest.mark.parametrize(
    ("names", "sets", "conditions"),
    [
        (
            "Birch_coarse80_run1 Birch_coarse80_run2 Maple_coarse80_run1 Maple_coarse80_run2",
            ["Birch", "Maple"],
            ["coarse, 80 km/h"],
        ),
        ("birch_r2_coarse_80 birch_r1_coarse_80 maple_r1_coarse_80", None, ["coarse, 80 km/h"]),
        ("coarse_80_birch_01 coarse_80_birch_02 coarse_80_maple_01", None, ["coarse, 80 km/h"]),
        (
            "birch run 1 coarse-80;birch run 2 coarse-80;maple run 1 coarse-80",
            ["birch", "maple"],
            ["coarse, 80 km/h"],
        ),
    ],
)
def test_that_further_runs_are_no_conditions_and_the_first_gets_the_cell(names, sets, conditions):
    stems = names.split(";") if ";" in names else names.split()
    outcome = spread(Draft(Path("/out")), [Path(f"/in/{stem}.wav") for stem in stems])
    draft = outcome.draft
    assert {s.name for s in draft.sets} == set(sets or ["birch", "maple"])
    assert [condition.title for condition in draft.conditions] == conditions
    assert [driving(placed.path.stem).run for placed in draft.files] == [1, 1]
    assert outcome.left_over == ()
    assert len(outcome.later_runs) == len(stems) - 2
    assert "imported after the study is made, under Recordings" in str(outcome.remainder())


def test_that_a_run_of_a_file_chosen_later_is_told_too():
    begun = grid_of("birch_coarse_80_run1 maple_coarse_80_run1")[0].draft
    outcome, sets, conditions = grid_of("birch_coarse_80_run2", begun)
    assert (sets, conditions) == (["birch", "maple"], ["coarse, 80 km/h"])
    assert outcome.draft == begun
    assert [path.name for path in outcome.later_runs] == ["birch_coarse_80_run2.wav"]


@pytest.mark.parametrize(
    "names", ["R1_coarse_80 R2_coarse_80", "coarse_80_R1 coarse_80_R2", "coarse_80_01 coarse_80_02"]
)
def test_that_a_word_that_alone_names_the_set_is_no_run(names):
    outcome, sets, conditions = grid_of(names)
    assert len(sets) == 2
    assert conditions == ["coarse, 80 km/h"]
    assert outcome.remainder() is None


@pytest.mark.parametrize("stem", ["birch_205_R16_coarse", "birch_coarse_run_80", "birch_trun1_x"])
def test_that_rims_and_speeds_are_no_runs(stem):
    assert driving(stem).run is None


def test_that_numbers_that_are_no_speeds_stay_words():
    assert driving("2031_maple_5_80").words == ("2031", "maple", "5")
    assert driving("2031_maple_5_80").speeds_km_h == (80,)


@pytest.mark.parametrize("stem", ["coarse80", "coarse80kph", "coarse_80kmh", "coarse-80-km-h"])
def test_that_a_speed_is_read_with_and_without_its_unit_and_glued_to_its_road(stem):
    assert driving(stem).words == ("coarse",)
    assert driving(stem).speeds_km_h == (80,)


def test_that_digits_that_cannot_be_a_speed_stay_with_their_word():
    assert driving("maple7_rough999").words == ("maple7", "rough999")
    assert driving("maple7_rough999").speeds_km_h == ()
