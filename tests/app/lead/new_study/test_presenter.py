from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import soundfile
from studies import raw_database, write_noise

from app.lead.new_study.making import StudyMaker
from app.lead.new_study.presenter import NewStudyPresenter
from ratings.intake.how_recorded import HowRecorded
from ratings.intake.run_draft import CalibrationDraft
from ratings.statistics.planning.claim_power import claimable_difference, evaluators_to_claim
from ratings.storage.blind_study import StudyFolder
from ratings.storage.study_folder import open_study
from ratings.study.attributes import Attribute


@pytest.fixture
def presenter(qapp, tmp_path):
    return NewStudyPresenter(tmp_path / "out", draw_seed=lambda: 7)


def put(qtbot, presenter, *paths, cell=None):
    """Put files in and wait until each is known."""
    presenter.put_files(paths, cell)
    qtbot.waitUntil(
        lambda: all(presenter.review.cell(f.cell).kind != "reading" for f in presenter.draft.files)
    )


def factor(pa_per_full_scale):
    return HowRecorded(calibration=CalibrationDraft("factor", pa_per_full_scale))


@pytest.fixture
def begun(qtbot, presenter, tmp_path):
    """A named study of two good recordings."""
    presenter.change(replace(presenter.draft, name="Week 31"))
    put(
        qtbot,
        presenter,
        write_noise(tmp_path / "maple_coarse_80.wav", 1),
        write_noise(tmp_path / "birch_coarse_80.wav", 2),
    )
    presenter.change(presenter.draft.with_control(1))
    return presenter


def change_condition(presenter, **said):
    changed = replace(presenter.draft.conditions[0], **said)
    presenter.change(presenter.draft.with_changed_condition(changed))


def kind_and_problem(presenter, name):
    placed = next(f for f in presenter.draft.files if f.path.name == name)
    view = presenter.review.cell(placed.cell)
    return view.kind, view.problem


def test_that_an_empty_draft_asks_for_recordings(presenter):
    assert presenter.heading() == "Which recordings do you want to compare?"
    assert "at least two sets on one condition" in presenter.advice()


def test_that_a_complete_draft_says_what_the_study_amounts_to(begun):
    # 1 comparison, 1 null pair, 1 repeat; 4 x 2.5 s and 6 x 10 s each: 3.5 minutes.
    assert begun.shortcoming() is None
    assert begun.heading() == (
        "Ready: 1 candidate against control maple, 3 pairs each, about 4 minutes."
    )
    assert begun.advice() == (
        "With 1 comparison an evaluator may notice the null pair and the repeat; 6 or more hide "
        "them."
    )


def test_that_a_complete_draft_says_how_many_evaluators_it_takes(qtbot, begun):
    def told():
        return begun.advice().removeprefix(
            "With 1 comparison an evaluator may notice the null pair and the repeat; 6 or more "
            "hide them."
        )

    # Six attributes: evenness is asked in coast-downs only.
    needed, found = evaluators_to_claim(0.5, 0.75, 1, 6), claimable_difference(0.75, 8, 1, 6)
    ending = f"; half a point takes {needed} (SD of their differences 0.75)."
    qtbot.waitUntil(lambda: told() != "")
    assert told() == f" Fewer than 3 evaluators claim nothing{ending}"
    begun.change(begun.draft.with_evaluator_count(8))
    qtbot.waitUntil(lambda: told() != "")
    assert told() == (
        f" 8 evaluators call a difference of {found:.1f} points clear 4 times in 5{ending}"
    )
    for attribute in begun.draft.attributes[1:]:
        begun.change(begun.draft.with_choice(attribute.key, is_chosen=False))
    qtbot.waitUntil(lambda: "half a point takes 20 (" in told())


def test_that_the_vehicle_lends_its_name_to_a_study_without_one(begun):
    begun.change(replace(begun.draft, name=""))
    assert begun.heading() == "The study has no name yet."
    begun.change(replace(begun.draft, vehicle="Alder wagon"))
    assert begun.shortcoming() is None
    assert begun.draft.folder.name == "Alder wagon"


def test_that_a_name_never_leads_out_of_the_chosen_place(begun, tmp_path):
    begun.change(replace(begun.draft, name="../../week: 31?"))
    assert begun.draft.folder.parent == tmp_path / "out"
    assert begun.draft.folder.name == "-..-week- 31-"
    begun.change(replace(begun.draft, name="..."))
    assert begun.draft.folder == tmp_path / "out" / "study"


def test_that_the_lead_is_asked_for_the_control_until_one_is_chosen(qtbot, presenter, tmp_path):
    presenter.change(replace(presenter.draft, name="Week 31"))
    put(qtbot, presenter, write_noise(tmp_path / "maple_coarse_80.wav", 1))
    assert presenter.heading() == "There is only one set, and nothing to compare it with."
    put(qtbot, presenter, write_noise(tmp_path / "birch_coarse_80.wav", 2))
    assert not any(s.is_control for s in presenter.draft.sets)
    assert presenter.heading() == "Which set is the control?"
    presenter.change(presenter.draft.with_control(2))
    assert presenter.heading().startswith("Ready: 1 candidate against control birch")


def test_that_a_taken_out_control_is_asked_for_again(qtbot, begun, tmp_path):
    put(qtbot, begun, write_noise(tmp_path / "larch_coarse_80.wav", 3))
    begun.take_out_set(1)
    assert begun.heading() == "Which set is the control?"


def test_that_the_study_counts_its_conditions_when_there_are_several(qtbot, begun, tmp_path):
    for seed, name in enumerate(("maple_smooth_60", "birch_smooth_60"), start=3):
        put(qtbot, begun, write_noise(tmp_path / f"{name}.wav", seed))
    assert begun.heading().startswith(
        "Ready: 1 candidate against control maple on 2 conditions, 4 pairs each, about"
    )


def test_that_an_attribute_that_no_condition_shows_is_left_out_of_the_plan(begun):
    assert "evenness" in begun.draft.chosen
    assert "evenness" not in [a.key for a in begun.draft.plan(1).attributes]
    change_condition(begun, manoeuvre="coast-down", end_speed_km_h=40.0)
    assert "evenness" in [a.key for a in begun.draft.plan(1).attributes]


def test_that_the_control_can_be_moved(begun):
    first, second = begun.draft.sets
    begun.change(begun.draft.with_control(second.set_id))
    assert [s.is_control for s in begun.draft.sets] == [False, True]
    begun.take_out_set(second.set_id)
    assert [(s.name, s.is_control) for s in begun.draft.sets] == [(first.name, False)]
    assert begun.heading() == "There is only one set, and nothing to compare it with."


def test_that_an_empty_cell_is_named_by_its_set_and_condition(begun):
    begun.empty_cell(begun.draft.files[1].cell)
    assert begun.heading() == "There is no recording of birch on coarse, 80 km/h."


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (lambda p: p.change(p.draft.with_set_name(1, "  ")), "A set has no name yet."),
        (lambda p: p.change(p.draft.with_set_name(1, "birch ")), "birch is there twice."),
        (lambda p: p.change(p.draft.with_evaluator_names("Ann, Bo, Ann")), "Ann is there twice."),
        (
            lambda p: p.change(p.draft.with_evaluator_names("Ann  Lee, ann lee")),
            "Ann  Lee and ann lee differ in nothing but capitals or spaces.",
        ),
        (
            lambda p: change_condition(p, surface=""),
            "A condition has no surface yet.",
        ),
        (
            lambda p: change_condition(p, manoeuvre="coast-down", end_speed_km_h=90.0),
            "The coast-down on coarse does not slow down.",
        ),
        (lambda p: p.change_recorded(factor(-1.0)), "-1 pascal per full scale cannot be."),
    ],
)
def test_that_each_shortcoming_has_its_sentence(begun, change, sentence):
    change(begun)
    assert begun.heading() == sentence
    assert begun.advice()


def test_that_a_condition_on_which_nothing_can_be_rated_is_told(begun):
    for attribute in begun.draft.attributes:
        begun.change(begun.draft.with_choice(attribute.key, is_chosen=attribute.key == "evenness"))
    assert begun.heading() == "None of the chosen attributes can be heard on coarse, 80 km/h."
    begun.change(begun.draft.with_choice("evenness", is_chosen=False))
    assert begun.heading() == "No attribute is chosen."


def test_that_a_steady_condition_forgets_the_end_of_a_coast_down(begun):
    change_condition(begun, manoeuvre="coast-down", end_speed_km_h=40.0)
    assert begun.draft.conditions[0].title == "coarse, coast-down, 80 to 40 km/h"
    change_condition(begun, manoeuvre="steady")
    assert begun.draft.conditions[0].title == "coarse, 80 km/h"


@pytest.mark.parametrize(
    ("remove", "name"),
    [
        (lambda p: p.take_out_condition(1), "coarse, 80 km/h"),
        (lambda p: p.take_out_set(1), "maple"),
        (lambda p: p.empty_cell((1, 1)), "maple_coarse_80.wav"),
        (lambda p: p.clear(), "the whole draft"),
    ],
)
def test_that_what_was_removed_is_put_back_with_its_files_until_the_next_change(
    begun, remove, name
):
    whole = begun.draft
    assert begun.removed == ""
    remove(begun)
    assert begun.draft != whole
    assert begun.removed == name
    begun.put_back()
    assert begun.draft == whole
    assert begun.heading().startswith("Ready: ")
    assert begun.removed == ""
    remove(begun)
    begun.change(replace(begun.draft, vehicle="Alder wagon"))
    assert begun.removed == ""
    changed = begun.draft
    begun.put_back()
    assert begun.draft == changed


def test_that_names_of_evaluators_count_as_people(begun):
    begun.change(begun.draft.with_evaluator_names("Ada, Bo,, Cy "))
    assert begun.draft.plan(1).evaluators == ("Ada", "Bo", "Cy")
    begun.change(begun.draft.with_evaluator_count(5))
    assert begun.draft.plan(1).evaluators == ("Ada", "Bo", "Cy", "", "")
    begun.change(begun.draft.with_evaluator_count(1))
    assert begun.draft.evaluator_count == 3


def test_that_an_own_attribute_needs_a_name_of_its_own_and_a_definition(begun):
    assert "no name" in str(begun.keep_attribute(Attribute("", " ", "buzz")))
    assert "there already" in str(begun.keep_attribute(Attribute("", "boom", "buzz")))
    assert "no definition" in str(begun.keep_attribute(Attribute("", "Rattle", " ")))
    assert "one edge" in str(begun.keep_attribute(Attribute("", "Rattle", "buzz", 50)))
    assert "below" in str(begun.keep_attribute(Attribute("", "Rattle", "buzz", 50, 40)))
    assert begun.draft.attributes[-1].key == "overall"
    assert begun.keep_attribute(Attribute("", " Rattle ", "buzz of trim", 40, 50)) is None
    assert begun.draft.attributes[-1] == Attribute("rattle", "Rattle", "buzz of trim", 40, 50)
    assert begun.draft.plan(1).attributes[-1].key == "rattle"


def test_that_an_edited_attribute_keeps_its_key_and_place(begun):
    boom = begun.draft.attributes[0]
    assert begun.keep_attribute(replace(boom, name="Drone", definition="low pressure")) is None
    assert begun.draft.attributes[0].key == "boom"
    assert begun.draft.attributes[0].name == "Drone"


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
    ("name", "words"),
    [
        ("letter.wav", "no header"),
        ("empty.wav", "not a single byte"),
        ("cut.wav", "was cut off"),
        ("nan.wav", "not numbers"),
        ("silent.flac", "is silent"),
        ("short.wav", "too short"),
        ("away.wav", "There is no file"),
    ],
)
def test_that_a_bad_file_is_told_in_words_and_the_draft_stays(qtbot, begun, tmp_path, name, words):
    write_bad_files(tmp_path)
    cell = begun.draft.files[1].cell
    put(qtbot, begun, tmp_path / name, cell=cell)
    kind, problem = kind_and_problem(begun, name)
    assert kind == "refused"
    assert words in problem
    assert begun.heading() == f"{name} cannot be used."
    assert begun.advice() == problem
    assert begun.draft.files[0].path.name == "maple_coarse_80.wav"
    assert begun.draft.name == "Week 31"


@pytest.mark.parametrize(
    ("name", "reason"),
    [
        ("letter.wav", "is named like a sound file, but has no header of one"),
        ("empty.wav", "is empty: it holds not a single byte"),
        ("silent.flac", "Channel 1 is silent from start to end"),
        ("short.wav", "lasts 0.50 s, too short to be judged by ear"),
    ],
)
def test_that_a_bad_file_says_its_reason_in_its_cell(qtbot, begun, tmp_path, name, reason):
    write_bad_files(tmp_path)
    cell = begun.draft.files[1].cell
    put(qtbot, begun, tmp_path / name, cell=cell)
    assert begun.review.cell(cell).words == reason


def test_that_a_mended_file_is_read_again_when_it_is_chosen_again(qtbot, begun, tmp_path):
    cell = begun.draft.files[1].cell
    later = tmp_path / "later.wav"
    put(qtbot, begun, later, cell=cell)
    assert begun.review.cell(cell).kind == "refused"
    write_noise(later, 9)
    put(qtbot, begun, later, cell=cell)
    assert begun.review.cell(cell).words == "8 kHz stereo 2.5 s"
    assert begun.shortcoming() is None


def test_that_the_same_sound_under_two_names_is_told(qtbot, begun, tmp_path):
    twin = tmp_path / "larch_coarse_80.wav"
    twin.write_bytes((tmp_path / "maple_coarse_80.wav").read_bytes())
    put(qtbot, begun, twin)
    assert begun.heading() == "larch_coarse_80.wav holds the same recording as maple_coarse_80.wav."


def test_that_rates_and_mono_are_told_and_accepted(qtbot, begun, tmp_path):
    mono = tmp_path / "larch_coarse_80.wav"
    noise = 0.1 * np.random.default_rng(5).standard_normal(110_250)
    soundfile.write(mono, noise, 44_100)
    put(qtbot, begun, mono)
    assert begun.review.cell(begun.draft.files[-1].cell).words == "44.1 kHz mono 2.5 s"
    assert begun.review.remarks() == (
        "Sample rates differ (8 and 44.1 kHz): each clip is brought to 48 kHz once.",
        "larch_coarse_80.wav is mono: both ears hear the same.",
    )
    said = "larch_coarse_80.wav is mono, the others of the condition are stereo."
    assert begun.heading() == said
    assert begun.review.cell(begun.draft.files[-1].cell).warning == "mono, others stereo"
    assert begun.offer().words == "Accept as recorded"
    begun.take_offer()
    assert begun.shortcoming() is None
    # Accepted for these files only.
    begun.put_files([mono.rename(tmp_path / "other.wav")], begun.draft.files[-1].cell)
    qtbot.waitUntil(lambda: begun.review.cell(begun.draft.files[-1].cell).kind == "ready")
    assert begun.heading().startswith("other.wav is mono")


def test_that_mono_beside_stereo_is_no_concern_where_both_ears_hear_one_channel(
    qtbot, begun, tmp_path
):
    mono = tmp_path / "larch_coarse_80.wav"
    soundfile.write(mono, 0.1 * np.random.default_rng(5).standard_normal(20_000), 8_000)
    put(qtbot, begun, mono)
    begun.change_recorded(HowRecorded(left_channel=1, right_channel=1))
    assert begun.heading().startswith("Ready: ")
    assert begun.review.cell(begun.draft.files[-1].cell).warning == ""


def test_that_a_clipped_file_is_told_in_heading_and_cell_and_accepted(qtbot, begun, tmp_path):
    clipped = tmp_path / "larch_coarse_80.wav"
    noise = 0.9 * np.random.default_rng(5).standard_normal((20_000, 2))
    count = int((np.abs(noise) >= 1.0).sum())
    soundfile.write(clipped, np.clip(noise, -1.0, 1.0), 8_000, subtype="FLOAT")
    put(qtbot, begun, clipped)
    assert begun.heading() == f"larch_coarse_80.wav reaches full scale in {count} samples."
    assert begun.review.cell(begun.draft.files[-1].cell).warning == f"full scale in {count} samples"
    begun.take_offer()
    assert begun.heading().startswith("Ready: ")
    # The cell says it all the same.
    assert begun.review.cell(begun.draft.files[-1].cell).warning == f"full scale in {count} samples"


def test_that_lost_signal_is_told_in_its_cell_and_before_the_study_is_made(qtbot, begun, tmp_path):
    gap = tmp_path / "larch_coarse_80.wav"
    samples = 0.1 * np.random.default_rng(5).standard_normal((20_000, 2))
    samples[8_000:8_080, 1] = 0.0
    soundfile.write(gap, samples, 8_000, subtype="PCM_16")
    put(qtbot, begun, gap)
    assert begun.review.cell(begun.draft.files[-1].cell).warning == "signal lost at 1.00 s"
    assert any(
        "larch_coarse_80.wav loses its signal at 1.00 s" in each for each in begun.review.remarks()
    )
    begun.make()
    qtbot.waitUntil(lambda: begun.maker.state is None, timeout=20000)
    said = "The signal is lost within the clip: 'larch_coarse_80.wav' at 1.00 s."
    assert begun.heading() == said
    assert begun.offer().words == "Accept as recorded"
    # Heard by nobody, it is nobody's concern.
    begun.change_recorded(HowRecorded(left_channel=0, right_channel=0))
    assert begun.review.cell(begun.draft.files[-1].cell).warning == ""
    assert begun.heading().startswith("Ready: ")


def test_that_clips_over_full_scale_are_lowered_all_alike_by_one_press(qtbot, begun, tmp_path):
    phones = tmp_path / "phones.csv"
    phones.write_text("8.0\n")
    begun.change_recorded(HowRecorded(equaliser=phones))
    qtbot.waitUntil(lambda: begun.heading().startswith("Ready: "))
    assert begun.offer() is None
    begun.make()
    qtbot.waitUntil(lambda: begun.maker.state is None, timeout=20000)
    assert "2 of 2 clips would exceed full scale" in begun.heading()
    over_db = begun.shortcoming().over_db
    assert begun.offer().words == f"Lower all clips by {over_db:.1f} dB"
    begun.take_offer()
    assert begun.draft.gain_db == pytest.approx(-over_db)
    assert begun.heading().startswith("Ready: ")
    with qtbot.waitSignal(begun.study_made, timeout=20000) as made:
        begun.make()
    connection = raw_database(StudyFolder(made.args[0]))
    gains = connection.execute("SELECT DISTINCT gain_db FROM clip_source").fetchall()
    connection.close()
    assert gains == [(pytest.approx(-over_db),)]


def test_that_a_level_that_is_hardly_right_is_accepted_by_one_press(qtbot, begun, tmp_path):
    phones = tmp_path / "phones.csv"
    phones.write_text("20.0\n")
    begun.change_recorded(HowRecorded(equaliser=phones))
    qtbot.waitUntil(lambda: begun.heading().startswith("Ready: "))
    begun.make()
    qtbot.waitUntil(lambda: begun.maker.state is None, timeout=20000)
    begun.take_offer()
    assert begun.draft.gain_db < 0.0
    begun.make()
    qtbot.waitUntil(lambda: begun.maker.state is None, timeout=20000)
    assert begun.heading() == "The equaliser lifts by 26 dB at most."
    assert begun.offer().words == "Accept as recorded"
    begun.take_offer()
    with qtbot.waitSignal(begun.study_made, timeout=20000):
        begun.make()


def test_that_files_without_a_free_cell_are_told(qtbot, begun, tmp_path):
    (tmp_path / "again").mkdir()
    again = write_noise(tmp_path / "again" / "maple_coarse_80.wav", 8)
    with qtbot.waitSignal(begun.problem_raised) as raised:
        begun.put_files([again])
    assert "The cell for maple_coarse_80.wav holds a file already." in str(raised.args[0])
    assert begun.draft.files[0].path != again


def test_that_a_folder_that_is_there_already_is_told_and_kept(qtbot, begun, tmp_path):
    (tmp_path / "out" / "Week 31").mkdir(parents=True)
    assert begun.shortcoming() is None
    (tmp_path / "out" / "Week 31" / "letter.txt").write_text("keep me")
    assert begun.heading() == "There is already a folder Week 31 in out."
    with qtbot.waitSignal(begun.problem_raised) as raised:
        begun.make()
    assert raised.args[0].what_happened == begun.heading()
    assert begun.maker.state is None


def test_that_the_study_is_made_as_it_was_drafted(qtbot, begun, tmp_path):
    begun.change(replace(begun.draft, vehicle="Alder wagon"))
    begun.change(begun.draft.with_evaluator_names("Ada, Bo"))
    begun.change(begun.draft.with_control(2))
    begun.change(begun.draft.with_choice("hiss", is_chosen=False))
    begun.change_recorded(factor(20.0))
    originals = {f.path: f.path.read_bytes() for f in begun.draft.files}
    seen = []
    begun.changed.connect(lambda: seen.append(begun.maker.state))
    with qtbot.waitSignal(begun.study_made, timeout=20_000) as made:
        begun.make()
        begun.make()
    assert made.args[0] == tmp_path / "out" / "Week 31"
    assert {path: path.read_bytes() for path in originals} == originals
    study = open_study(made.args[0])
    assert (study.facts.name, study.facts.vehicle, study.seed) == (
        "Week 31",
        "Alder wagon",
        7,
    )
    assert "hiss" not in [a.key for a in study.attributes]
    study.close()
    database = raw_database(study.folder)
    sets = database.execute("SELECT name, is_control FROM tyre_set ORDER BY name").fetchall()
    people = database.execute("SELECT name FROM evaluator ORDER BY name").fetchall()
    pascals = database.execute("SELECT DISTINCT pa_per_full_scale FROM recording").fetchall()
    database.close()
    assert sets == [("birch", 1), ("maple", 0)]
    assert people == [("Ada",), ("Bo",)]
    assert pascals == [(20.0,)]
    parts = [state.part for state in seen if state is not None]
    assert parts == sorted(parts)
    assert parts[-1] > 0.5
    assert not begun.draft.files
    assert begun.draft.place == tmp_path / "out"


def test_that_the_remaining_time_follows_from_the_part_done_and_the_time_taken(
    qtbot, begun, tmp_path
):
    seconds = iter(range(0, 10_000, 10))
    maker = StudyMaker(lambda: next(seconds))
    seen = []
    maker.changed.connect(lambda: seen.append(maker.state))
    with qtbot.waitSignal(maker.succeeded, timeout=20_000):
        maker.make(tmp_path / "timed", begun.draft.plan(7))
    told = [(s.part, s.seconds_left) for s in seen if s is not None and s.seconds_left is not None]
    assert told
    for turn, (part, left_s) in enumerate(told, start=1):
        assert left_s == pytest.approx(10 * turn * (1 - part) / part)
    assert all(s.part < 0.1 for s in seen if s is not None and s.seconds_left is None)


def test_that_a_cancelled_study_leaves_nothing_and_keeps_the_draft(qtbot, begun, tmp_path):
    draft = begun.draft
    with qtbot.waitSignal(begun.maker.changed):
        begun.make()
    begun.maker.cancel()
    assert begun.maker.state.is_stopping
    qtbot.waitUntil(lambda: begun.maker.state is None)
    assert list((tmp_path / "out").iterdir()) == []
    assert begun.draft is draft
    assert begun.shortcoming() is None


def test_that_a_refusal_of_the_making_is_passed_on_and_the_draft_is_whole(qtbot, begun, tmp_path):
    draft = begun.draft
    (tmp_path / "out").write_text("a file where the folder should be")
    assert begun.shortcoming() is None
    with qtbot.waitSignal(begun.problem_raised, timeout=20_000) as raised:
        begun.make()
    assert "No study can be made in out" in str(raised.args[0])
    assert begun.draft is draft
    assert begun.maker.state is None
