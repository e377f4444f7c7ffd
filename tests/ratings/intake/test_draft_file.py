import json
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ratings.errors import StudyError
from ratings.intake.draft_file import DraftFile, draft_text, read_draft
from ratings.intake.how_recorded import HowRecorded
from ratings.intake.run_draft import CalibrationDraft
from ratings.intake.study_draft import Draft, PlacedFile
from ratings.study.attributes import DEFAULT_ATTRIBUTES, Attribute
from ratings.study.sets import Condition, TyreSet

words = st.text(max_size=12)
numbers = st.floats(allow_nan=False, allow_infinity=False)
# Names of files need not be text: what cannot be told comes as a lone surrogate.
paths = st.text(
    st.one_of(st.characters(exclude_characters="\0"), st.just("\udce4")), min_size=1, max_size=12
).map(lambda name: Path("/of this test") / name)
conditions = st.builds(
    Condition,
    st.just(0),
    words,
    st.sampled_from(["steady", "coast-down"]),
    st.none() | numbers,
    st.none() | numbers,
)
recorded = st.builds(
    HowRecorded,
    st.integers(0, 40),
    st.integers(0, 40),
    st.builds(
        CalibrationDraft,
        st.sampled_from(["kept", "own", "factor", "tones", "unknown"]),
        numbers,
        st.none() | paths,
        st.none() | paths,
        numbers,
    ),
    st.none() | paths,
    st.lists(paths, max_size=3).map(tuple),
)


@st.composite
def drafts(draw):
    draft = Draft(draw(paths), *draw(st.tuples(words, words)))
    for name in draw(st.lists(words, max_size=3)):
        draft = draft.with_set(name)
    for condition in draw(st.lists(conditions, max_size=3)):
        draft = draft.with_condition(condition)
    cells = [(s.set_id, c.condition_id) for s in draft.sets for c in draft.conditions]
    for cell in draw(st.sets(st.sampled_from(cells)) if cells else st.just(set())):
        draft = replace(draft, files=(*draft.files, PlacedFile(cell, draw(paths))))
    if draft.sets and draw(st.booleans()):
        draft = draft.with_control(draw(st.sampled_from(draft.sets)).set_id)
    own = draw(st.builds(Attribute, st.just("own"), words, words, st.none() | numbers))
    text = draw(words)
    return replace(
        draft,
        attributes=(*DEFAULT_ATTRIBUTES, own),
        chosen=frozenset(draw(st.sets(st.sampled_from(["boom", "own", "hiss"])))),
        evaluator_text=text,
        evaluator_count=draw(st.integers(max(1, text.count(",") + 1), 200)),
        recorded=draw(recorded),
        gain_db=draw(st.floats(-60.0, 0.0)),
        accepted=frozenset(draw(st.sets(words, max_size=2))),
    )


@pytest.fixture
def full(tmp_path):
    draft = Draft(tmp_path, "Week 31", "Alder wagon").with_set("birch").with_set("maple")
    draft = draft.with_condition(Condition(0, "coarse", "coast-down", 80.0, 40.0)).with_control(1)
    return replace(
        draft.with_file((1, 1), tmp_path / "a.wav"),
        recorded=HowRecorded(0, 1, CalibrationDraft("factor", 20.0), None, (tmp_path / "a.csv",)),
        gain_db=-3.5,
        accepted=frozenset({"a.wav is clipped."}),
    )


@given(drafts())
def test_that_a_draft_is_read_as_it_was_written(draft):
    assert read_draft(draft_text(draft)) == draft


def test_that_a_draft_kept_by_the_first_release_that_kept_any_is_read():
    kept = read_draft((Path(__file__).parent / "draft_form_1.json").read_bytes())
    runs = Path("/runs")
    assert kept == Draft(
        Path("/studies"),
        "Week 31",
        "Alder wagon",
        (TyreSet(1, "birch", is_control=True), TyreSet(2, "maple", is_control=False)),
        (Condition(1, "coarse", "coast-down", 80.0, 40.0),),
        (PlacedFile((1, 1), runs / "a.wav"),),
        (DEFAULT_ATTRIBUTES[0], Attribute("rattle", "Rattle", "buzz of trim", 40.0, 50.0)),
        frozenset({"rattle"}),
        "Ada, Bo",
        3,
        HowRecorded(
            *(2, 3),
            CalibrationDraft("tones", 20.0, runs / "tone.wav"),
            runs / "phones.csv",
            (runs / "a.csv",),
        ),
        -3.5,
        frozenset({"a.wav is clipped."}),
    )


def test_that_a_file_cut_off_anywhere_is_refused_in_words(full):
    text = draft_text(full)
    for end in range(len(text)):
        with pytest.raises(StudyError, match="is damaged"):
            read_draft(text[:end])


def places(told, way=()):
    """Give the way to each value inside what JSON holds."""
    yield way
    inside = dict(enumerate(told)) if isinstance(told, list) else told
    for key, value in inside.items() if isinstance(inside, dict) else ():
        yield from places(value, (*way, key))


@pytest.mark.parametrize(
    "odd", [None, True, "x\0", -1, 10**400, float("nan"), [], {}, [1, 2, 3], {"format": 1}]
)
def test_that_an_odd_value_anywhere_is_refused_or_one_that_can_be_said(full, odd):
    whole = json.loads(draft_text(full))
    refused = 0
    for way in list(places(whole))[1:]:
        changed = json.loads(json.dumps(whole))
        inside = changed
        for key in way[:-1]:
            inside = inside[key]
        inside[way[-1]] = odd
        try:
            read = read_draft(json.dumps(changed))
        except StudyError:
            refused += 1
        else:
            assert read_draft(draft_text(read)) == read
            assert abs(read.evaluator_count) < 2**31
    assert refused > 10


@pytest.mark.parametrize(
    "change",
    [
        lambda d: replace(d, files=(*d.files, PlacedFile((9, 1), Path("/b.wav")))),
        lambda d: replace(d, files=(*d.files, *d.files)),
        lambda d: replace(d, sets=(*d.sets, TyreSet(1, "twin", is_control=False))),
        lambda d: replace(d, sets=tuple(replace(s, is_control=True) for s in d.sets)),
        lambda d: replace(d, conditions=d.conditions * 2),
        lambda d: replace(d, attributes=d.attributes * 2),
        lambda d: replace(d, evaluator_text="Ann, Bo"),
        lambda d: replace(d, recorded=replace(d.recorded, left_channel=-1)),
        lambda d: replace(d, gain_db=6.0),
    ],
)
def test_that_what_no_window_can_have_said_is_refused(full, change):
    with pytest.raises(StudyError):
        read_draft(draft_text(change(full)))


def test_that_a_late_writing_never_overwrites_a_newer_one(tmp_path):
    file = DraftFile(tmp_path / "new_study.json")
    file.write(Draft(tmp_path, "second"), 2)
    file.write(Draft(tmp_path, "first"), 1)
    assert file.read().name == "second"
