"""How a new study was recorded: ears, level, equaliser and speed, one choice for all files."""

from dataclasses import replace

import h5py
import numpy as np
import pytest
import soundfile
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel, QWidget
from scipy.io import savemat
from studies import RATE_HZ, nth, raw_database

from app.lead.new_study.page import NewStudyPage
from app.lead.new_study.presenter import NewStudyPresenter
from app.parts.theme import apply_theme
from ratings.errors import MeasurementError
from ratings.intake.how_recorded import HowRecorded, factor_by_tones
from ratings.intake.known_files import speed_words
from ratings.intake.run_draft import CalibrationDraft
from ratings.storage.blind_study import StudyFolder

LEFT = Qt.MouseButton.LeftButton
FACTOR = CalibrationDraft("factor", 20.0)


def write_channels(path, channels, seed, silent=()):
    samples = np.random.default_rng(seed).normal(size=(round(9.0 * RATE_HZ), channels)) * 0.05
    samples[:, list(silent)] = 0.0
    soundfile.write(path, samples, RATE_HZ, subtype="PCM_16")
    return path


def write_tone(path, rms_by_channel, frequency_hz=1000.0):
    """Record a calibrator for 6 s, with so much rms on each channel."""
    time_s = np.arange(6 * RATE_HZ) / RATE_HZ
    tone = np.sqrt(2) * np.sin(2 * np.pi * frequency_hz * time_s)
    soundfile.write(path, tone[:, np.newaxis] * rms_by_channel, RATE_HZ, subtype="PCM_24")
    return path


@pytest.fixture
def presenter(qapp, tmp_path):
    return NewStudyPresenter(tmp_path / "out", draw_seed=lambda: 7)


@pytest.fixture
def begun(qtbot, presenter, tmp_path):
    """A named study of two recordings of four channels."""
    presenter.change(replace(presenter.draft, name="Week 31"))
    for seed, name in enumerate(("maple_coarse_80", "birch_coarse_80")):
        presenter.put_files([write_channels(tmp_path / f"{name}.wav", 4, seed)])
    presenter.change(presenter.draft.with_control(1))
    qtbot.waitUntil(lambda: presenter.shortcoming() is None)
    return presenter


class Files:
    """Answers in place of the system's dialog."""

    def __init__(self) -> None:
        self.answer = None
        self.traces = []

    def ask_path(self, _parent: QWidget, _purpose: object):
        return self.answer

    def ask_traces(self, _parent: QWidget, _folder: object):
        return self.traces


@pytest.fixture
def files():
    return Files()


@pytest.fixture
def page(qtbot, qapp, begun, files):
    apply_theme(qapp, "light")
    page = NewStudyPage(begun, ask_path=files.ask_path, ask_traces=files.ask_traces)
    qtbot.addWidget(page)
    page.resize(1280, 720)
    page.show()
    qtbot.waitExposed(page)
    page.activateWindow()
    return page


def shown(page):
    return [label.text() for label in page.recorded.findChildren(QLabel) if label.isVisible()]


def makes(qtbot, presenter):
    """Make the study and return its folder."""
    qtbot.waitUntil(lambda: presenter.shortcoming() is None)
    with qtbot.waitSignal(presenter.study_made, timeout=20_000) as made:
        presenter.make()
    return made.args[0]


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


def test_that_one_choice_of_ears_holds_for_all_files(qtbot, begun):
    begun.change_recorded(HowRecorded(left_channel=2, right_channel=2))
    assert begun.review.remarks() == (
        "maple_coarse_80.wav, birch_coarse_80.wav: of 4 channels 3 is heard.",
    )
    folder = makes(qtbot, begun)
    assert ears_of_recordings(folder) == [(2, 2), (2, 2)]


def test_that_many_files_of_which_the_same_channels_are_heard_take_one_line(
    qtbot, presenter, tmp_path
):
    names = ("maple_coarse_80.wav", "maple_smooth_80.wav", "birch_coarse_80.wav")
    paths = [write_channels(tmp_path / name, 3, n) for n, name in enumerate(names)]
    presenter.put_files(paths)
    qtbot.waitUntil(lambda: len(presenter.review.facts) == len(paths))
    assert presenter.review.remarks() == ("3 files: of 3 channels 1 and 2 are heard.",)


def test_that_a_channel_that_a_file_lacks_is_told_at_its_cell(begun):
    begun.change_recorded(HowRecorded(left_channel=0, right_channel=4))
    assert begun.heading() == "maple_coarse_80.wav cannot be used."
    assert begun.review.cell((1, 1)).words == "has no channel 5; it has 4"
    begun.change_recorded(HowRecorded(left_channel=0, right_channel=3))
    assert begun.shortcoming() is None


def test_that_only_a_channel_that_is_heard_must_not_be_silent(qtbot, begun, tmp_path):
    begun.put_files([write_channels(tmp_path / "larch_coarse_80.wav", 4, 9, silent=(0, 1))])
    qtbot.waitUntil(lambda: begun.review.cell((3, 1)).kind == "refused")
    assert begun.review.cell((3, 1)).words == "Channel 1 is silent from start to end"
    begun.change_recorded(HowRecorded(left_channel=2, right_channel=3))
    assert begun.review.cell((3, 1)).kind == "ready"


@pytest.mark.slow
def test_that_a_mono_file_is_heard_in_both_ears_whatever_was_chosen(qtbot, begun, tmp_path):
    begun.put_files([write_channels(tmp_path / "larch_coarse_80.wav", 1, 9)])
    begun.change_recorded(HowRecorded(left_channel=2, right_channel=3))
    qtbot.waitUntil(lambda: begun.heading().startswith("larch_coarse_80.wav is mono"))
    begun.take_offer()
    folder = makes(qtbot, begun)
    assert ears_of_recordings(folder) == [(0, 0), (2, 3), (2, 3)]


def test_that_the_factor_is_asked_for_until_it_is_given(qtbot, begun):
    begun.change_recorded(HowRecorded(calibration=CalibrationDraft("factor")))
    assert begun.heading() == "How many pascal are full scale?"
    begun.change_recorded(HowRecorded(calibration=FACTOR))
    folder = makes(qtbot, begun)
    assert asked(folder, "SELECT DISTINCT pa_per_full_scale FROM clip") == [(20.0,)]


def test_that_a_tone_before_and_after_calibrates_the_ears(qtbot, begun, tmp_path):
    begun.change_recorded(HowRecorded(calibration=CalibrationDraft("tones")))
    assert begun.heading() == "Which file holds the calibrator's tone?"
    # 94 dB are 20 uPa times 10^(94/20), 1.0024 Pa: 0.05 rms is 20.05 Pa per full scale.
    before = write_tone(tmp_path / "before.wav", [0.05, 0.05, 0.01, 0.2])
    after = write_tone(tmp_path / "after.wav", [0.051, 0.05, 0.01, 0.2])
    tones = CalibrationDraft("tones", tone_before=before, tone_after=after)
    begun.change_recorded(HowRecorded(calibration=tones))
    folder = makes(qtbot, begun)
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


def test_that_a_tone_that_is_none_keeps_the_study_from_being_made(qtbot, begun, tmp_path):
    noise = write_channels(tmp_path / "noise.wav", 4, 3)
    begun.change_recorded(HowRecorded(calibration=CalibrationDraft("tones", tone_before=noise)))
    qtbot.waitUntil(lambda: begun.heading() != "The tone is being read.")
    assert begun.heading() == "There is no tone of 2 s or more on channel 1 of 'noise.wav'."
    write_tone(noise, [0.05] * 4)
    begun.change_recorded(begun.draft.recorded)
    qtbot.waitUntil(lambda: begun.shortcoming() is None)


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
def test_that_files_in_pascal_need_no_calibration(qtbot, presenter, tmp_path, ending):
    presenter.change(replace(presenter.draft, name="Week 31"))
    presenter.put_files(
        [
            in_pascal(tmp_path / f"{name}_coarse_80.{ending}", seed)
            for seed, name in enumerate(("maple", "birch"))
        ]
    )
    presenter.change(presenter.draft.with_control(1))
    folder = makes(qtbot, presenter)
    assert (
        asked(folder, "SELECT calibration FROM channel_setting")
        == [("pascal by the file's own units",)] * 4
    )
    # Peaks of some 3 Pa do not fit a full scale of 1 Pa.
    ((clip_pa,),) = asked(folder, "SELECT DISTINCT pa_per_full_scale FROM clip")
    assert clip_pa > 3.0


def test_that_files_of_which_only_some_are_in_pascal_are_told(qtbot, begun, tmp_path):
    begun.put_files([in_pascal(tmp_path / "larch_coarse_80.h5", 5)])
    qtbot.waitUntil(lambda: begun.review.cell((3, 1)).kind == "ready")
    assert begun.heading().startswith("1 of 3 recordings are calibrated")


def test_that_the_equaliser_reaches_the_clips(qtbot, begun, tmp_path):
    phones = tmp_path / "phones.csv"
    np.savetxt(phones, [0.5])
    begun.change_recorded(HowRecorded(equaliser=phones))
    folder = makes(qtbot, begun)
    ((used,),) = asked(folder, "SELECT DISTINCT equaliser FROM clip_source")
    assert [file.read_bytes() for file in (folder / "lead" / "equalisers").iterdir()] == [
        phones.read_bytes()
    ]
    assert len(used) == 64


def test_that_an_equaliser_that_is_none_is_told(qtbot, begun, tmp_path):
    phones = tmp_path / "phones.csv"
    phones.write_text("no taps\n", encoding="utf-8")
    begun.change_recorded(HowRecorded(equaliser=phones))
    qtbot.waitUntil(lambda: begun.heading() != "The equaliser is being read.")
    assert begun.heading().startswith("The equaliser 'phones.csv', line 1:")


def write_trace(path):
    path.write_text("time_s,speed_km_h\n" + "".join(f"{s},80\n" for s in range(10)))
    return path


def test_that_dropped_traces_go_to_the_recordings_of_their_names(qtbot, begun, tmp_path):
    traces = [write_trace(tmp_path / f"{n}_coarse_80.csv") for n in ("maple", "birch")]
    begun.put_files(traces)
    assert len(begun.draft.files) == 2
    folder = makes(qtbot, begun)
    remarks = [remark for (remark,) in asked(folder, "SELECT remarks FROM clip_source")]
    assert all("window by speed: within 1 km/h of 80 km/h" in remark for remark in remarks)


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


def test_that_a_study_is_not_made_while_a_trace_may_be_another_recordings(qtbot, begun, tmp_path):
    (tmp_path / "other").mkdir()
    traces = [write_trace(tmp_path / "other" / f"maple_coarse_80{end}") for end in (".csv", ".CSV")]
    begun.change_recorded(HowRecorded(speeds=tuple(traces)))
    qtbot.waitUntil(lambda: "2 speed traces" in begun.heading())


def test_that_a_trace_without_a_recording_of_its_name_is_told(qtbot, begun, tmp_path):
    how = HowRecorded(
        speeds=(
            write_trace(tmp_path / "Maple_coarse_80.csv"),
            write_trace(tmp_path / "rowan_coarse_80.csv"),
        )
    )
    begun.change_recorded(how)
    qtbot.waitUntil(lambda: begun.shortcoming() is None)
    paths = [placed.path for placed in begun.draft.files]
    assert speed_words(how, begun.review.files, paths) == (
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


def test_that_the_panel_stands_in_place_of_the_grid_until_it_is_done(qtbot, page):
    qtbot.mouseClick(page.fields.recorded, LEFT)
    assert page.recorded.isVisible()
    assert not page.grid.isVisible()
    assert QApplication.focusWidget() is page.recorded.left
    qtbot.mouseClick(page.recorded.done, LEFT)
    assert page.grid.isVisible()
    qtbot.mouseClick(page.fields.recorded, LEFT)
    qtbot.keyClick(page.recorded.left, Qt.Key.Key_Escape)
    assert page.grid.isVisible()


def test_that_ears_are_chosen_with_the_keys(qtbot, page):
    qtbot.mouseClick(page.fields.recorded, LEFT)
    left = page.recorded.left
    assert [left.itemText(n) for n in range(left.count())] == [
        "channel 1",
        "channel 2",
        "channel 3",
        "channel 4",
    ]
    for _ in range(2):
        qtbot.keyClick(left, Qt.Key.Key_Down)
    qtbot.keyClick(page.recorded.right, Qt.Key.Key_Down)
    assert page.presenter.draft.recorded.ears == (2,)
    assert "Channel 3 in both ears." in shown(page)
    assert page.fields.recorded.accessibleDescription() == "ear 3, level unknown"


def test_that_level_equaliser_and_speed_are_chosen_on_the_panel(qtbot, page, files, tmp_path):
    qtbot.mouseClick(page.fields.recorded, LEFT)
    panel, presenter = page.recorded, page.presenter
    panel.level.ways["tones"].click()
    files.answer = write_tone(tmp_path / "tone.wav", [0.05] * 4)
    qtbot.mouseClick(panel.level.before, LEFT)
    files.answer = tmp_path / "phones.csv"
    np.savetxt(files.answer, np.hanning(9))
    qtbot.mouseClick(panel.equaliser, LEFT)
    files.traces = [write_trace(tmp_path / "maple_coarse_80.csv")]
    qtbot.mouseClick(panel.speed, LEFT)
    qtbot.waitUntil(lambda: presenter.shortcoming() is None)
    words = shown(page)
    assert "20.05 Pa per full scale: tone of 94 dB, before only." in words
    assert "9 taps at the rate of the clips, for all clips alike." in words
    assert "Known for 1 of 2 recordings." in words
    qtbot.mouseClick(panel.no_equaliser, LEFT)
    qtbot.mouseClick(panel.no_speed, LEFT)
    assert presenter.draft.recorded == replace(presenter.draft.recorded, equaliser=None, speeds=())
    files.answer = None
    qtbot.mouseClick(panel.equaliser, LEFT)
    assert presenter.draft.recorded.equaliser is None
