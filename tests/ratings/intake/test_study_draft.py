from dataclasses import replace
from pathlib import Path

import pytest
from drafts import begun_draft

from ratings.intake.draft_checks import attribute_shortcoming
from ratings.intake.study_draft import Draft
from ratings.study.attributes import Attribute


@pytest.fixture
def begun(tmp_path):
    return begun_draft(tmp_path)


def change_condition(draft, **said):
    return draft.with_changed_condition(replace(draft.conditions[0], **said))


def test_that_a_name_never_leads_out_of_the_chosen_place():
    folder = Draft(Path("/out"), "../../week: 31?").folder
    assert folder.parent == Path("/out")
    assert folder.name == "-..-week- 31-"
    assert Draft(Path("/out"), "...").folder == Path("/out/study")


def test_that_an_attribute_that_no_condition_shows_is_left_out_of_the_plan(begun):
    assert "evenness" in begun.chosen
    assert "evenness" not in [a.key for a in begun.plan(1).attributes]
    coasting = change_condition(begun, manoeuvre="coast-down", end_speed_km_h=40.0)
    assert "evenness" in [a.key for a in coasting.plan(1).attributes]


def test_that_a_steady_condition_forgets_the_end_of_a_coast_down(begun):
    coasting = change_condition(begun, manoeuvre="coast-down", end_speed_km_h=40.0)
    assert coasting.conditions[0].title == "coarse, coast-down, 80 to 40 km/h"
    steady = change_condition(coasting, manoeuvre="steady")
    assert steady.conditions[0].title == "coarse, 80 km/h"


def test_that_names_of_evaluators_count_as_people(begun):
    named = begun.with_evaluator_names("Ada, Bo,, Cy ")
    assert named.plan(1).evaluators == ("Ada", "Bo", "Cy")
    more = named.with_evaluator_count(5)
    assert more.plan(1).evaluators == ("Ada", "Bo", "Cy", "", "")
    assert more.with_evaluator_count(1).evaluator_count == 3


def test_that_sets_and_conditions_by_hand_have_names_of_their_own():
    draft = Draft(Path("/out")).with_set().with_set().with_condition().with_condition()
    assert [s.name for s in draft.sets] == ["Set 1", "Set 2"]
    assert [c.surface for c in draft.conditions] == ["Road 1", "Road 2"]
    assert [s.name for s in draft.without_set(1).with_set().sets] == ["Set 2", "Set 3"]


@pytest.mark.parametrize(
    ("attribute", "words"),
    [
        (Attribute("", " ", "buzz"), "no name"),
        (Attribute("", "boom", "buzz"), "there already"),
        (Attribute("", "Rattle", " "), "no definition"),
        (Attribute("", "Rattle", "buzz", 50), "one edge"),
        (Attribute("", "Rattle", "buzz", 50, 40), "below"),
    ],
)
def test_that_an_own_attribute_needs_a_name_of_its_own_and_a_definition(begun, attribute, words):
    assert words in str(attribute_shortcoming(begun, attribute))


def test_that_an_own_attribute_is_listed_chosen_and_rated(begun):
    written = Attribute("", " Rattle ", "buzz of trim", 40, 50)
    assert attribute_shortcoming(begun, written) is None
    draft = begun.with_attribute(written)
    assert draft.attributes[-1] == Attribute("rattle", "Rattle", "buzz of trim", 40, 50)
    assert draft.plan(1).attributes[-1].key == "rattle"
    # A second one of this name is refused; a key that is taken all the same gets a number.
    assert draft.with_attribute(written).attributes[-1].key == "rattle_2"


def test_that_an_edited_attribute_keeps_its_key_and_place(begun):
    drone = replace(begun.attributes[0], name="Drone", definition="low pressure")
    assert attribute_shortcoming(begun, drone) is None
    edited = begun.with_attribute(drone)
    assert edited.attributes == (drone, *begun.attributes[1:])
    assert edited.attributes[0].key == "boom"
