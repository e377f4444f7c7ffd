from studies import SETS, small_study, write_noise

from ratings.design.study_plan import ChosenRecording
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.study_overview import study_overview


def test_that_the_overview_counts_and_names_only_codes(tmp_path):
    study = small_study(tmp_path, sets=3, conditions=2)
    overview = study_overview(study)
    assert overview.set_codes == LeadDesk(study).codes()
    assert overview.conditions[0].title == "coarse asphalt, 80 km/h"
    assert overview.heard_count == 6
    assert not overview.shares_clips
    assert not overview.is_calibrated
    assert not [name for name in SETS if name in repr(overview)]
    study.close()


def test_that_what_was_done_to_clips_is_counted(tmp_path):
    slow = write_noise(tmp_path / "a.wav", 1, rate_hz=8000)
    fast = write_noise(tmp_path / "b.wav", 2, rate_hz=16000)
    recordings = (
        ChosenRecording(slow, 1, 1, pa_per_full_scale=10.0),
        ChosenRecording(fast, 2, 1, pa_per_full_scale=20.0),
    )
    study = small_study(tmp_path / "made", recordings=recordings)
    overview = study_overview(study)
    study.close()
    assert overview.is_calibrated
    remarks = dict(overview.remarks)
    assert remarks["resampled from 8000 to 48000 Hz"] == 1
    assert remarks["resampled from 16000 to 48000 Hz"] == 1
