"""The sentences about faults, word by word."""

import numpy as np
import pytest

from ratings.acoustics.faults.channel_faults import (
    ChannelFaults,
    GainStep,
    Hum,
    Occurrences,
    RunFaults,
)
from ratings.acoustics.faults.repeat_faults import repeat_faults
from ratings.acoustics.faults.speed_faults import speed_faults
from ratings.acoustics.faults.words import (
    grouped_remarks,
    repeat_remarks,
    run_remarks,
    speed_remarks,
)
from ratings.errors import MeasurementError
from ratings.study.speed_trace import SpeedTrace

NONE = Occurrences()


def channel(**changes) -> ChannelFaults:
    clean = {
        "is_silent": False,
        "full_scale_samples": 0,
        "clipping": NONE,
        "drop_outs": NONE,
        "clicks": NONE,
        "offset_ratio": 0.0,
        "hum": None,
        "gain_step": None,
    }
    return ChannelFaults(**(clean | changes))


def run(*channels, duration_s=20.0, same=(), opposite=(), inverted=()) -> RunFaults:
    return RunFaults(duration_s, channels, same, opposite, inverted, is_hum_judged=True)


def test_that_a_clean_run_gets_no_remark():
    assert run_remarks(run(channel(), channel())) == ()


CASES = [
    (
        {"clipping": Occurrences(14, 12.3), "full_scale_samples": 60},
        "void",
        "is clipped 14 times, first at 12.30 s: lower the recorder's range and drive again.",
    ),
    (
        {"clipping": Occurrences(1, 2.0)},
        "doubtful",
        "is clipped once, at 2.00 s: lower the recorder's range and drive again.",
    ),
    ({"full_scale_samples": 1}, "note", "reaches full scale in 1 sample, never three in a row"),
    ({"drop_outs": Occurrences(2, 3.5)}, "void", "loses its signal 2 times, first at 3.50 s"),
    ({"clicks": Occurrences(1, 3.5)}, "doubtful", "clicks once, at 3.50 s: listen there"),
    ({"gain_step": GainStep(9.5, -10.02)}, "doubtful", "falls by 10.0 dB at all frequencies"),
    ({"hum": Hum(50.0, (1, 3, 5), 20.0)}, "doubtful", "hums at 50, 150, 250 Hz"),
    ({"offset_ratio": -0.3}, "note", "has a constant offset of 30 % of its rms"),
    ({"offset_ratio": 1.5}, "doubtful", "has a constant offset of 150 % of its rms"),
    ({"is_silent": True}, "void", "is silent: check microphone, cable, power supply and input."),
]


@pytest.mark.parametrize(("changes", "severity", "text"), CASES)
def test_that_each_fault_has_its_sentence_and_severity(changes, severity, text):
    (remark,) = run_remarks(run(channel(), channel(**changes)), (1, 3))
    assert remark.sentence.startswith(f"Channel 3 {text}")
    assert (remark.severity, remark.channel) == (severity, 3)


@pytest.mark.parametrize(
    ("lost", "duration_s", "severity", "text"),
    [
        (
            Occurrences(2, 19.4, 19.73),
            20.0,
            "doubtful",
            "only: trim the last 0.7 s, the rest",
        ),
        (
            Occurrences(1, 0.3, 0.31),
            20.0,
            "doubtful",
            "only: trim the first 0.4 s, the",
        ),
        (
            Occurrences(2, 17.8, 19.7),
            20.0,
            "void",
            "check cable and recorder, and drive",
        ),
        (Occurrences(2, 0.2, 19.9), 20.0, "void", "drive again."),
        (Occurrences(1, 4.9, 4.95), 5.2, "void", "drive again."),
    ],
)
def test_that_signal_lost_near_an_end_alone_is_mended_by_trimming(
    lost: Occurrences, duration_s: float, severity: str, text: str
) -> None:
    (remark,) = run_remarks(run(channel(drop_outs=lost), duration_s=duration_s))
    assert remark.severity == severity
    assert text in remark.sentence


def test_that_corners_of_clipped_and_lost_signal_are_not_told_as_clicks():
    faulty = channel(clicks=Occurrences(9, 1.0), drop_outs=Occurrences(1, 1.0))
    assert [each.severity for each in run_remarks(run(faulty))] == ["void"]


def test_that_pairs_and_inverted_channels_are_told_once():
    faults = run(*[channel()] * 4, same=((0, 1),), opposite=((0, 2), (1, 2), (2, 3)), inverted=(2,))
    texts = [each.sentence for each in run_remarks(faults)]
    assert texts[0].startswith("Channels 1 and 2 are the same signal")
    assert texts[1].startswith("Channel 3 looks inverted")
    assert len(texts) == 2
    (pair,) = run_remarks(run(channel(), channel(), opposite=((0, 1),)))
    assert pair.sentence.startswith("Channels 1 and 2 move against each other")


@pytest.mark.parametrize(("duration_s", "severity"), [(0.5, "void"), (4.0, "doubtful")])
def test_that_a_short_run_is_told(duration_s, severity):
    (remark,) = run_remarks(run(channel(), duration_s=duration_s))
    assert remark.severity == severity
    assert f"{duration_s:.2f} s" in remark.sentence


def trace(*speeds) -> SpeedTrace:
    return SpeedTrace(np.arange(float(len(speeds))), np.array(speeds, np.float64))


def test_that_a_held_speed_gets_no_remark_and_a_left_one_gets_its_time():
    assert speed_remarks(speed_faults(trace(80, 80.9, 79.1, 81.0), 80.0)) == ()
    faults = speed_faults(trace(80, 81.5, 82.0, 80.0), 80.0)
    assert faults.mean_off_km_h == pytest.approx((0.75 + 1.75 + 1.0) / 3)
    (remark,) = speed_remarks(faults)
    assert remark.sentence == (
        "The speed was 80.0 to 82.0 km/h and left 80 +/- 1 km/h for 2.0 s, first at 1.00 s: "
        "drive again, or cut where it was held."
    )


def test_that_a_speed_off_from_the_start_tells_that_time_too():
    (remark,) = speed_remarks(speed_faults(trace(85, 85, 85), 80.0))
    assert "first at 0.00 s" in remark.sentence


def test_that_a_coast_down_may_begin_faster_but_not_slower_and_must_not_rise():
    def told(*speeds):
        return [
            each.sentence for each in speed_remarks(speed_faults(trace(*speeds), 80, "coast-down"))
        ]

    assert told(86, 70, 60, 60.8, 50) == []
    assert "began at 75.0 km/h" in told(75, 60, 50)[0]
    assert "The speed rose during the coast-down, at 2.00 s" in told(80, 60, 62, 50)[0]


def test_that_a_wanted_speed_of_nothing_is_refused():
    with pytest.raises(MeasurementError, match="planned speed"):
        speed_faults(trace(80, 80), 0.0)


def test_that_runs_too_far_apart_are_told_by_band_with_the_odd_run():
    levels = np.array([[60.0, 50.0], [60.9, 50.2], [60.1, 52.0], [np.nan, 50.1]])
    (fault,) = repeat_faults(levels, ["boom", "cavity"])
    assert (fault.band, fault.farthest_run) == ("cavity", 2)
    assert fault.range_db == pytest.approx(2.0)
    (remark,) = repeat_remarks([fault])
    assert remark.sentence == (
        "The runs lie 2.0 dB apart in cavity, more than 1 dB: run 3 is farthest from the others, "
        "listen to it."
    )


def test_that_of_two_runs_neither_is_called_the_odd_one():
    (fault,) = repeat_faults(np.array([[60.0], [61.5]]), ["boom"])
    assert fault.farthest_run is None
    assert "drive one more run" in repeat_remarks([fault])[0].sentence
    assert repeat_faults(np.array([[60.0], [61.5]]), ["boom"], limit_db=2.0) == ()
    with pytest.raises(MeasurementError, match="as many names"):
        repeat_faults(np.zeros((2, 3)), ["boom"])


def test_that_the_bands_of_one_odd_run_are_one_line_with_the_worst_of_them():
    levels = np.array([[60.0, 50.0, 40.0], [60.1, 50.2, 40.1], [64.0, 52.0, 41.8]])
    (remark,) = repeat_remarks(repeat_faults(levels, ["boom", "cavity", "hiss"]))
    assert remark.sentence == (
        "The runs lie 4.0 dB apart in boom, more than 1 dB, and too far in 2 more bands: run 3 is "
        "farthest from the others, listen to it."
    )


def test_that_channels_with_the_same_fault_are_one_line_and_the_gravest_comes_first():
    faulty = [
        channel(offset_ratio=-0.3),
        channel(clipping=Occurrences(14, 0.5), offset_ratio=0.2),
        channel(clipping=Occurrences(40, 1.5)),
        channel(clipping=Occurrences(11, 2.5)),
        channel(is_silent=True),
    ]
    told = grouped_remarks(run_remarks(run(*faulty), (1, 2, 3, 4, 6)))
    assert [each.severity for each in told] == ["void", "void", "note"]
    assert told[0].sentence == (
        "Channel 3 is clipped 40 times, first at 1.50 s: lower the recorder's range and drive "
        "again (also channels 2 and 4)."
    )
    assert told[1].sentence.startswith("Channel 6 is silent")
    assert told[2].sentence.endswith("AC coupling (also channel 2).")
