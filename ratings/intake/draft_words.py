"""What the page for a new study says about files and about the study that is ready to be made."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ratings.design.orders import plan_session
from ratings.design.session_length import break_positions, seconds_per_pair
from ratings.design.study_plan import StudyPlan
from ratings.errors import RatingsError
from ratings.intake.how_recorded import HowRecorded, ears_in
from ratings.study.attributes import Attribute
from ratings.study.sets import Condition
from ratings.study.wording import counted

if TYPE_CHECKING:
    from ratings.recordings.read import SoundFacts

_CHANNEL_WORDS = {1: "mono", 2: "stereo"}


def fact_words(facts: "SoundFacts") -> str:
    """Say rate, channels and length, such as ``48 kHz stereo 9.4 s``, short enough for a cell."""
    channels = _CHANNEL_WORDS.get(facts.channels, f"{facts.channels} channels")
    decimals = 1 if facts.duration_s < 10 else 0
    return f"{facts.sample_rate_hz / 1000:g} kHz {channels} {facts.duration_s:.{decimals}f} s"


def cell_warning(facts: "SoundFacts", how: HowRecorded, *, is_odd_mono: bool) -> str:
    """Say what is odd about a file that can be used, short enough for its cell."""
    odd = []
    if is_odd_mono:
        odd.append("mono, others stereo")
    if facts.clipped_samples:
        odd.append(f"full scale in {counted(facts.clipped_samples, 'sample')}")
    if lost_s := facts.lost_s(ears_in(facts, how)):
        odd.append(f"signal lost at {lost_s[0][0]:.2f} s")
    return "; ".join(odd)


def short_reason(problem: RatingsError, name: str) -> str:
    """Say why a file cannot be used, to stand under its name in a cell."""
    words = problem.what_happened.rstrip(".")
    for named in (f" of '{name}'", f"'{name}' ", f" '{name}'"):
        words = words.replace(named, "", 1)
    return words


def heard_remarks(facts: Sequence["SoundFacts"], how: HowRecorded) -> tuple[str, ...]:
    """Say which channels are heard of files that have more than two, alike files in one line."""
    by_channels: dict[int, list[str]] = {}
    for each in facts:
        by_channels.setdefault(each.channels, []).append(each.name)
    heard = " and ".join(str(ear + 1) for ear in how.ears)
    verb = "is" if len(how.ears) == 1 else "are"
    return tuple(
        f"{', '.join(names) if len(names) < 3 else counted(len(names), 'file')}: "
        f"of {channels} channels {heard} {verb} heard."
        for channels, names in by_channels.items()
        if channels > 2
    )


def file_remarks(facts: "SoundFacts", how: HowRecorded) -> tuple[str, ...]:
    """Say what is odd about a file that can be used."""
    remarks = []
    if facts.channels == 1:
        remarks.append(f"{facts.name} is mono: both ears hear the same.")
    if facts.clipped_samples:
        samples = counted(facts.clipped_samples, "sample")
        remarks.append(f"{facts.name} reaches full scale in {samples}: it may be clipped.")
    if lost_s := facts.lost_s(ears_in(facts, how)):
        remarks.append(
            f"{facts.name} loses its signal at {lost_s[0][0]:.2f} s: its clip is cut beside it if "
            "there is room."
        )
    if facts.is_lossy:
        remarks.append(f"{facts.name} was stored with loss ({facts.encoding}).")
    return tuple(remarks)


def rate_remarks(facts: Sequence["SoundFacts"]) -> tuple[str, ...]:
    """Say when the files do not share one sample rate, and what is done about it."""
    rates_hz = sorted({each.sample_rate_hz for each in facts})
    if len(rates_hz) < 2:
        return ()
    named = " and ".join(f"{rate_hz / 1000:g}" for rate_hz in rates_hz)
    return (f"Sample rates differ ({named} kHz): each clip is brought to 48 kHz once.",)


def attributes_heard(plan: StudyPlan, condition: Condition) -> tuple[Attribute, ...]:
    """Give the attributes that a condition can show."""
    return tuple(a for a in plan.attributes if a.manoeuvre in (None, condition.manoeuvre))


def ready_words(plan: StudyPlan, clip_lengths_s: dict[int, float]) -> str:
    """Say what a plan that lacks nothing amounts to.

    Parameters
    ----------
    clip_lengths_s
        By the id of the condition.
    """
    by_id = {condition.condition_id: condition for condition in plan.conditions}
    pairs = plan_session(
        plan.control.set_id, [s.set_id for s in plan.candidates], list(by_id), plan.seed, 0
    )
    seconds = [
        seconds_per_pair(
            len(attributes_heard(plan, by_id[pair.condition_id])), clip_lengths_s[pair.condition_id]
        )
        for pair in pairs
    ]
    compared = f"{counted(len(plan.candidates), 'candidate')} against control {plan.control.name}"
    if len(plan.conditions) > 1:
        compared += f" on {len(plan.conditions)} conditions"
    parts = [
        compared,
        f"{counted(len(pairs), 'pair')} each",
        f"about {counted(max(1, round(sum(seconds) / 60)), 'minute')}",
    ]
    breaks = break_positions(len(pairs), sum(seconds) / len(pairs))
    rest = f" with {counted(len(breaks), 'break')}" if breaks else ""
    return f"Ready: {', '.join(parts)}{rest}."


def remaining_words(seconds: float | None) -> str:
    """Say the remaining time; nothing as long as it cannot be told."""
    if seconds is None:
        return ""
    if seconds < 60:
        return f"about {max(1, round(seconds))} s left"
    return f"about {counted(round(seconds / 60), 'minute')} left"
