"""How a new study was recorded: ears, level, equaliser and speed, one choice for all files."""

from dataclasses import replace

import h5py
import numpy as np
import pytest
from drafts import begun_draft, heading, reviewed, write_channels, write_tone, write_trace
from scipy.io import savemat
from studies import RATE_HZ, nth, raw_database

from ratings.errors import MeasurementError
from ratings.intake.how_recorded import HowRecorded, factor_by_tones
from ratings.intake.known_files import speed_words
from ratings.intake.making import make_study
from ratings.intake.placing import spread
from ratings.intake.run_draft import CalibrationDraft
from ratings.storage.blind_study import StudyFolder

FACTOR = CalibrationDraft("factor", 20.0)


@pytest.fixture
def begun(tmp_path):
    """A named study of two recordings of four channels."""
    names = ("maple_coarse_80.wav", "birch_coarse_80.wav")
    return begun_draft(
        tmp_path, [write_channels(tmp_path / name, 4, n) for n, name in enumerate(names)]
    )


def recorded(draft, **said):
    return replace(draft, recorded=HowRecorded(**said))


def made(draft):
    """Make the study and return its folder."""
    review = reviewed(draft)
    assert review.shortcoming() is None
    make_study(draft.folder, review.plan).close()
    return draft.folder


def asked(folder, question):
    connection = raw_database(StudyFolder(folder))
    rows = connection.execute(question).fetchall()
    connection.close()
    return rows


def ears_of_recordings(folder):
    """Return the ears of each recording, in order; its clips have the same ones."""
    found = asked(
        folder, "SELECT DISTINCT recording_id, left_channel, right_channel FROM clip_source"
    )
    return sorted((left, right) for _, left, right in found)


def test_that_one_choice_of_ears_holds_for_all_files(begun):
    draft = recorded(begun, left_channel=2, right_channel=2)
    assert reviewed(draft).remarks() == (
        "maple_coarse_80.wav, birch_coarse_80.wav: of 4 channels 3 is heard.",
    )
    assert ears_of_recordings(made(draft)) == [(2, 2), (2, 2)]


def test_that_many_files_of_which_the_same_channels_are_heard_take_one_line(tmp_path):
    names = ("maple_coarse_80.wav", "maple_smooth_80.wav", "birch_coarse_80.wav")
    paths = [write_channels(tmp_path / name, 3, n) for n, name in enumerate(names)]
    review = reviewed(begun_draft(tmp_path, paths))
    assert review.remarks() == ("3 files: of 3 channels 1 and 2 are heard.",)


def test_that_a_channel_that_a_file_lacks_is_told_at_its_cell(begun):
    draft = recorded(begun, left_channel=0, right_channel=4)
    assert heading(draft) == "maple_coarse_80.wav cannot be used."
    assert reviewed(draft).cell((1, 1)).words == "has no channel 5; it has 4"
    assert reviewed(recorded(begun, left_channel=0, right_channel=3)).shortcoming() is None


def test_that_only_a_channel_that_is_heard_must_not_be_silent(begun, tmp_path):
    silent = write_channels(tmp_path / "larch_coarse_80.wav", 4, 9, silent=(0, 1))
    draft = spread(begun, [silent]).draft
    assert reviewed(draft).cell((3, 1)).kind == "refused"
    assert reviewed(draft).cell((3, 1)).words == "Channel 1 is silent from start to end"
    assert reviewed(recorded(draft, left_channel=2, right_channel=3)).cell((3, 1)).kind == "ready"


@pytest.mark.slow
def test_that_a_mono_file_is_heard_in_both_ears_whatever_was_chosen(begun, tmp_path):
    mono = write_channels(tmp_path / "larch_coarse_80.wav", 1, 9)
    draft = recorded(spread(begun, [mono]).draft, left_channel=2, right_channel=3)
    assert heading(draft).startswith("larch_coarse_80.wav is mono")
    folder = made(reviewed(draft).offer().draft)
    assert ears_of_recordings(folder) == [(0, 0), (2, 3), (2, 3)]


def test_that_the_factor_is_asked_for_until_it_is_given(begun):
    missing = recorded(begun, calibration=CalibrationDraft("factor"))
    assert heading(missing) == "How many pascal are full scale?"
    folder = made(recorded(begun, calibration=FACTOR))
    assert asked(folder, "SELECT DISTINCT pa_per_full_scale FROM clip") == [(20.0,)]


def test_that_a_tone_before_and_after_calibrates_the_ears(begun, tmp_path):
    missing = recorded(begun, calibration=CalibrationDraft("tones"))
    assert heading(missing) == "Which file holds the calibrator's tone?"
    # 94 dB are 20 uPa times 10^(94/20), 1.0024 Pa: 0.05 rms is 20.05 Pa per full scale.
    before = write_tone(tmp_path / "before.wav", [0.05, 0.05, 0.01, 0.2])
    after = write_tone(tmp_path / "after.wav", [0.051, 0.05, 0.01, 0.2])
    tones = CalibrationDraft("tones", tone_before=before, tone_after=after)
    folder = made(recorded(begun, calibration=tones))
    factor = 20e-6 * 10 ** (94 / 20) / 0.05
    # The left ear's later tone is 1.02 times the earlier: a quarter of that in the mean of four.
    ((clip_pa,),) = asked(folder, "SELECT DISTINCT pa_per_full_scale FROM clip")
    assert clip_pa == pytest.approx(factor / 1.02**0.25, rel=1e-4)
    settings = asked(
        folder,
        "SELECT pa_per_full_scale IS NOT NULL, calibration FROM channel_setting "
        f"WHERE recording_id = {nth('recording')} ORDER BY channel",
    )
    words = "tone of 94 dB before and after, up to 0.17 dB apart"
    assert settings == [(1, words)] * 2 + [(0, "not calibrated")] * 2


@pytest.mark.parametrize(
    ("after", "ears", "words"),
    [
        ([0.054, 0.05], (0,), "before and after differ by 0.67 dB"),
        ([0.05, 0.05], (0, 1), "two ears are 0.8"),
    ],
)
def test_that_tones_that_do_not_agree_are_refused(tmp_path, after, ears, words):
    before = [0.05, 0.05] if ears == (0,) else [0.05, 0.055]
    tones = CalibrationDraft(
        "tones",
        tone_before=write_tone(tmp_path / "before.wav", before),
        tone_after=write_tone(tmp_path / "after.wav", after) if ears == (0,) else None,
    )
    with pytest.raises(MeasurementError, match=words):
        factor_by_tones(tones, ears)


def test_that_a_tone_on_one_channel_for_two_ears_is_said(tmp_path):
    tones = CalibrationDraft("tones", tone_before=write_tone(tmp_path / "mono.wav", [0.05]))
    remark = "the tone was recorded on one channel, and stands for both ears"
    assert remark in factor_by_tones(tones, (0, 1)).remarks
    assert remark not in factor_by_tones(tones, (1,)).remarks
    tones = replace(tones, tone_before=write_tone(tmp_path / "both.wav", [0.05, 0.05]))
    assert remark not in factor_by_tones(tones, (0, 1)).remarks


def in_pascal(path, seed):
    samples = np.random.default_rng(seed).normal(size=(9 * RATE_HZ, 2)) * 0.8
    if path.suffix == ".mat":
        savemat(path, {"pressure": samples, "sample_rate_hz": RATE_HZ, "unit": "Pa"})
        return path
    with h5py.File(path, "w") as file:
        data = file.create_dataset("pressure", data=samples)
        data.attrs["unit"] = "Pa"
        data.attrs["sample_rate_hz"] = RATE_HZ
    return path


# What a file is, its content says, whatever it is called.
@pytest.mark.slow
@pytest.mark.parametrize("ending", ["h5", "mat", "export"])
def test_that_files_in_pascal_need_no_calibration(tmp_path, ending):
    names = (f"maple_coarse_80.{ending}", f"birch_coarse_80.{ending}")
    files = [in_pascal(tmp_path / name, seed) for seed, name in enumerate(names)]
    folder = made(begun_draft(tmp_path, files))
    assert (
        asked(folder, "SELECT calibration FROM channel_setting")
        == [("pascal by the file's own units",)] * 4
    )
    # Peaks of some 3 Pa do not fit a full scale of 1 Pa.
    ((clip_pa,),) = asked(folder, "SELECT DISTINCT pa_per_full_scale FROM clip")
    assert clip_pa > 3.0


def test_that_files_of_which_only_some_are_in_pascal_are_told(begun, tmp_path):
    draft = spread(begun, [in_pascal(tmp_path / "larch_coarse_80.h5", 5)]).draft
    assert reviewed(draft).cell((3, 1)).kind == "ready"
    assert heading(draft).startswith("1 of 3 recordings are calibrated")


def test_that_the_equaliser_reaches_the_clips(begun, tmp_path):
    phones = tmp_path / "phones.csv"
    np.savetxt(phones, [0.5])
    folder = made(recorded(begun, equaliser=phones))
    ((used,),) = asked(folder, "SELECT DISTINCT equaliser FROM clip_source")
    assert [file.read_bytes() for file in (folder / "lead" / "equalisers").iterdir()] == [
        phones.read_bytes()
    ]
    assert len(used) == 64


def test_that_an_equaliser_that_is_none_is_told(begun, tmp_path):
    phones = tmp_path / "phones.csv"
    phones.write_text("no taps\n", encoding="utf-8")
    said = heading(recorded(begun, equaliser=phones))
    assert said.startswith("The equaliser 'phones.csv', line 1:")


def test_that_a_trace_goes_to_the_recording_beside_it_where_several_have_its_name(tmp_path):
    maple, birch = (tmp_path / name / "coarse_80.wav" for name in ("maple", "birch"))
    traces = tuple(path.with_suffix(".csv") for path in (maple, birch))
    how = HowRecorded(speeds=traces)
    assert [how.speed_of(path) for path in (maple, birch)] == list(traces)
    assert how.unclear_speed([maple, birch]) is None
    elsewhere = HowRecorded(speeds=(tmp_path / "coarse_80.csv",))
    assert elsewhere.unclear_speed([maple]) is None
    assert elsewhere.unclear_speed([maple, birch]).what_happened == (
        "2 recordings have the name of the speed trace coarse_80.csv."
    )
    assert HowRecorded(speeds=traces).unclear_speed([tmp_path / "coarse_80.wav"]).what_happened == (
        "2 speed traces have the name of coarse_80.wav."
    )


def test_that_a_study_is_not_made_while_a_trace_may_be_another_recordings(begun, tmp_path):
    (tmp_path / "other").mkdir()
    traces = [write_trace(tmp_path / "other" / f"maple_coarse_80{end}") for end in (".csv", ".CSV")]
    assert "2 speed traces" in heading(recorded(begun, speeds=tuple(traces)))


def test_that_a_trace_without_a_recording_of_its_name_is_told(begun, tmp_path):
    traces = [write_trace(tmp_path / f"{n}_coarse_80.csv") for n in ("Maple", "rowan")]
    review = reviewed(recorded(begun, speeds=tuple(traces)))
    assert review.shortcoming() is None
    assert speed_words(review.draft.recorded, review.files, review.draft.paths) == (
        "Known for 1 of 2 recordings. No recording has the name of rowan_coarse_80.csv."
    )


@pytest.mark.parametrize(
    ("how", "says_pascal", "words"),
    [
        (HowRecorded(), False, "ears 1 and 2, level unknown"),
        (HowRecorded(), True, "ears 1 and 2, in pascal"),
        (HowRecorded(3, 3, FACTOR), False, "ear 4, 20 Pa"),
        (HowRecorded(calibration=CalibrationDraft("factor")), False, "ears 1 and 2, Pa not given"),
    ],
)
def test_that_the_button_sums_up_what_was_said(how, says_pascal, words):
    assert how.summary(says_pascal=says_pascal) == words
