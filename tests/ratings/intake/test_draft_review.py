"""What is said of a draft and its files."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import soundfile
from drafts import begun_draft, heading, reviewed
from studies import write_noise

from ratings.intake.draft_review import DraftReview
from ratings.intake.how_recorded import HowRecorded
from ratings.intake.known_files import KnownFiles
from ratings.intake.placing import spread
from ratings.intake.run_draft import CalibrationDraft
from ratings.intake.study_draft import Draft


@pytest.fixture
def begun(tmp_path):
    return begun_draft(tmp_path)


def with_files(draft, *paths):
    return spread(draft, paths).draft


def change_condition(draft, **said):
    return draft.with_changed_condition(replace(draft.conditions[0], **said))


def last_cell(draft):
    return reviewed(draft).cell(draft.files[-1].cell)


def test_that_an_empty_draft_asks_for_recordings(tmp_path):
    problem = reviewed(Draft(tmp_path)).shortcoming()
    assert problem.what_happened == "Which recordings do you want to compare?"
    assert "at least two sets on one condition" in problem.what_to_do


def test_that_a_complete_draft_says_what_the_study_amounts_to(begun):
    # 1 comparison, 1 null pair, 1 repeat; 4 x 2.5 s and 6 x 10 s each: 3.5 minutes.
    assert reviewed(begun).shortcoming() is None
    assert heading(begun) == (
        "Ready: 1 candidate against control maple, 3 pairs each, about 4 minutes."
    )


def test_that_files_that_were_not_read_yet_are_waited_for(begun):
    review = DraftReview(begun, KnownFiles({}))
    assert review.shortcoming().what_happened == "The recordings are being read."
    assert review.cell((1, 1)).kind == "reading"
    assert review.offer() is None


def test_that_the_vehicle_lends_its_name_to_a_study_without_one(begun):
    unnamed = replace(begun, name="")
    assert heading(unnamed) == "The study has no name yet."
    named = replace(unnamed, vehicle="Alder wagon")
    assert reviewed(named).shortcoming() is None
    assert named.folder.name == "Alder wagon"


def test_that_the_lead_is_asked_for_the_control_until_one_is_chosen(tmp_path):
    draft = with_files(
        Draft(tmp_path / "out", "Week 31"), write_noise(tmp_path / "maple_coarse_80.wav", 1)
    )
    assert heading(draft) == "There is only one set, and nothing to compare it with."
    draft = with_files(draft, write_noise(tmp_path / "birch_coarse_80.wav", 2))
    assert not any(s.is_control for s in draft.sets)
    assert heading(draft) == "Which set is the control?"
    assert heading(draft.with_control(2)).startswith("Ready: 1 candidate against control birch")


def test_that_a_taken_out_control_is_asked_for_again(begun, tmp_path):
    draft = with_files(begun, write_noise(tmp_path / "larch_coarse_80.wav", 3))
    assert heading(draft.without_set(1)) == "Which set is the control?"


def test_that_the_control_can_be_moved(begun):
    first, second = begun.sets
    moved = begun.with_control(second.set_id)
    assert [s.is_control for s in moved.sets] == [False, True]
    alone = moved.without_set(second.set_id)
    assert [(s.name, s.is_control) for s in alone.sets] == [(first.name, False)]
    assert heading(alone) == "There is only one set, and nothing to compare it with."


def test_that_the_study_counts_its_conditions_when_there_are_several(begun, tmp_path):
    names = ("maple_smooth_60", "birch_smooth_60")
    more = [write_noise(tmp_path / f"{name}.wav", n) for n, name in enumerate(names, start=3)]
    assert heading(with_files(begun, *more)).startswith(
        "Ready: 1 candidate against control maple on 2 conditions, 4 pairs each, about"
    )


def test_that_an_empty_cell_is_named_by_its_set_and_condition(begun):
    emptied = begun.without_file(begun.files[1].cell)
    assert heading(emptied) == "There is no recording of birch on coarse, 80 km/h."


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (lambda d: d.with_set_name(1, "  "), "A set has no name yet."),
        (lambda d: d.with_set_name(1, "birch "), "birch is there twice."),
        (lambda d: d.with_evaluator_names("Ann, Bo, Ann"), "Ann is there twice."),
        (
            lambda d: d.with_evaluator_names("Ann  Lee, ann lee"),
            "Ann  Lee and ann lee differ in nothing but capitals or spaces.",
        ),
        (lambda d: change_condition(d, surface=""), "A condition has no surface yet."),
        (
            lambda d: change_condition(d, manoeuvre="coast-down", end_speed_km_h=90.0),
            "The coast-down on coarse does not slow down.",
        ),
        (
            lambda d: replace(d, recorded=HowRecorded(0, 1, CalibrationDraft("factor", -1.0))),
            "-1 is not a valid Pa per full scale.",
        ),
    ],
)
def test_that_each_shortcoming_has_its_sentence(begun, change, sentence):
    problem = reviewed(change(begun)).shortcoming()
    assert problem.what_happened == sentence
    assert problem.what_to_do


def test_that_a_condition_on_which_nothing_can_be_rated_is_told(begun):
    only = replace(begun, chosen=frozenset({"evenness"}))
    assert heading(only) == "None of the chosen attributes can be heard on coarse, 80 km/h."
    assert heading(only.with_choice("evenness", is_chosen=False)) == "No attribute is chosen."


def write_bad_files(folder: Path) -> None:
    (folder / "letter.wav").write_text("Dear colleague")
    (folder / "empty.wav").write_bytes(b"")
    whole = write_noise(folder / "whole.wav", 3).read_bytes()
    (folder / "cut.wav").write_bytes(whole[: len(whole) // 2])
    nan = np.full((20_000, 2), np.nan)
    soundfile.write(folder / "nan.wav", nan, 8000, subtype="FLOAT")
    soundfile.write(folder / "silent.flac", np.zeros((20_000, 2)), 8000)
    write_noise(folder / "short.wav", 4, seconds=0.5)


@pytest.mark.parametrize(
    ("name", "words", "reason"),
    [
        ("letter.wav", "no header", "is named like a sound file, but has no header of one"),
        ("empty.wav", "it holds no bytes", "is empty: it holds no bytes"),
        ("cut.wav", "was cut off", None),
        ("nan.wav", "not numbers", None),
        ("silent.flac", "is silent", "Channel 1 is silent from start to end"),
        ("short.wav", "too short", "lasts 0.50 s, too short to be judged by ear"),
        ("away.wav", "There is no file", None),
    ],
)
def test_that_a_bad_file_is_told_in_words_and_its_reason_in_its_cell(
    begun, tmp_path, name, words, reason
):
    write_bad_files(tmp_path)
    review = reviewed(begun.with_file(begun.files[1].cell, tmp_path / name))
    view = last_cell(review.draft)
    assert view.kind == "refused"
    assert words in view.problem
    assert view.words == (reason or view.words)
    assert review.problems() == (view.problem,)
    assert review.shortcoming().what_happened == f"{name} cannot be used."
    assert review.shortcoming().what_to_do == view.problem
    assert review.cell(begun.files[0].cell).kind == "ready"


def test_that_the_same_sound_under_two_names_is_told(begun, tmp_path):
    twin = tmp_path / "larch_coarse_80.wav"
    twin.write_bytes((tmp_path / "maple_coarse_80.wav").read_bytes())
    assert heading(with_files(begun, twin)) == (
        "larch_coarse_80.wav holds the same recording as maple_coarse_80.wav."
    )


def test_that_rates_and_mono_are_told_and_accepted(begun, tmp_path):
    mono = tmp_path / "larch_coarse_80.wav"
    noise = 0.1 * np.random.default_rng(5).standard_normal(110_250)
    soundfile.write(mono, noise, 44_100)
    draft = with_files(begun, mono)
    assert last_cell(draft).words == "44.1 kHz mono 2.5 s"
    assert reviewed(draft).remarks() == (
        "Sample rates differ (8 and 44.1 kHz): each clip is brought to 48 kHz once.",
        "larch_coarse_80.wav is mono: both ears hear the same.",
    )
    said = "larch_coarse_80.wav is mono, the others of the condition are stereo."
    assert heading(draft) == said
    assert last_cell(draft).warning == "mono, others stereo"
    offer = reviewed(draft).offer()
    assert offer.words == "Accept as recorded"
    assert reviewed(offer.draft).shortcoming() is None
    # Accepted for these files only.
    other = offer.draft.with_file(draft.files[-1].cell, mono.rename(tmp_path / "other.wav"))
    assert heading(other).startswith("other.wav is mono")


def test_that_mono_beside_stereo_is_no_concern_where_both_ears_hear_one_channel(begun, tmp_path):
    mono = tmp_path / "larch_coarse_80.wav"
    soundfile.write(mono, 0.1 * np.random.default_rng(5).standard_normal(20_000), 8_000)
    one_ear = HowRecorded(left_channel=1, right_channel=1)
    draft = replace(with_files(begun, mono), recorded=one_ear)
    assert heading(draft).startswith("Ready: ")
    assert last_cell(draft).warning == ""


def test_that_a_clipped_file_is_told_in_heading_and_cell_and_accepted(begun, tmp_path):
    clipped = tmp_path / "larch_coarse_80.wav"
    noise = 0.9 * np.random.default_rng(5).standard_normal((20_000, 2))
    count = int((np.abs(noise) >= 1.0).sum())
    soundfile.write(clipped, np.clip(noise, -1.0, 1.0), 8_000, subtype="FLOAT")
    draft = with_files(begun, clipped)
    assert heading(draft) == f"larch_coarse_80.wav reaches full scale in {count} samples."
    assert last_cell(draft).warning == f"full scale in {count} samples"
    accepted = reviewed(draft).offer().draft
    assert heading(accepted).startswith("Ready: ")
    # The cell says it all the same.
    assert last_cell(accepted).warning == f"full scale in {count} samples"


def test_that_a_folder_that_is_there_already_is_told_whenever_it_is_made(begun):
    begun.folder.mkdir(parents=True)
    review = reviewed(begun)
    assert review.shortcoming() is None
    (begun.folder / "letter.txt").write_text("keep me")
    assert review.shortcoming().what_happened == "There is already a folder Week 31 in out."
    assert [file.name for file in begun.folder.iterdir()] == ["letter.txt"]
