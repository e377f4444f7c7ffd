from dataclasses import replace

import numpy as np
import pytest
import soundfile
from draft_pages import wait_until_read
from studies import raw_database, write_noise

from app.lead.new_study.making import StudyMaker
from ratings.intake.how_recorded import HowRecorded
from ratings.intake.run_draft import CalibrationDraft
from ratings.statistics.planning.claim_power import claimable_difference, evaluators_to_claim
from ratings.storage.blind_study import StudyFolder
from ratings.storage.study_folder import open_study


def factor(pa_per_full_scale):
    return HowRecorded(calibration=CalibrationDraft("factor", pa_per_full_scale))


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


def test_that_a_mended_file_is_read_again_when_it_is_chosen_again(qtbot, begun, tmp_path):
    cell = begun.draft.files[1].cell
    later = tmp_path / "later.wav"
    begun.put_files([later], cell)
    wait_until_read(qtbot, begun)
    assert begun.review.cell(cell).kind == "refused"
    write_noise(later, 9)
    begun.put_files([later], cell)
    wait_until_read(qtbot, begun)
    assert begun.review.cell(cell).words == "8 kHz stereo 2.5 s"
    assert begun.shortcoming() is None


def test_that_lost_signal_is_told_in_its_cell_and_before_the_study_is_made(qtbot, begun, tmp_path):
    gap = tmp_path / "larch_coarse_80.wav"
    samples = 0.1 * np.random.default_rng(5).standard_normal((20_000, 2))
    samples[8_000:8_080, 1] = 0.0
    soundfile.write(gap, samples, 8_000, subtype="PCM_16")
    begun.put_files([gap])
    wait_until_read(qtbot, begun)
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
