"""What an evaluator is told about the sound of the day: never so that it tells two clips apart."""

from app.playback.dose import Listened, level_in_words, minutes_in_words, percent_in_words
from ratings.acoustics.exposure import SITE_RULES_FIRST, Exposure
from ratings.errors import RatingsError

#: Level and dose are told from this time on: the mean over fewer clips could show which of two is
#: the louder one. Our judgement.
TOLD_FROM_S = 600.0


class DoseReachedError(RatingsError):
    """Nothing went wrong, but the ears have had much for one day."""


def today_words(today: Listened) -> str:
    """Say what was played today: minutes, and level and dose where they are known."""
    if today.played_s <= 0:
        return "Today: nothing played yet."
    words = f"Today: {minutes_in_words(today.played_s)} played"
    if today.known.duration_s <= 0:
        return f"{words}; level not known, so no dose."
    if not _is_told(today):
        return f"{words}; level and dose are told from {minutes_in_words(TOLD_FROM_S)} on."
    level = level_in_words(today.known.level_db_a)
    dose = (
        f"{percent_in_words(today.known.niosh_dose_percent)} of a day's allowed "
        "dose (NIOSH, 85 dB(A), 8 h)"
    )
    if today.unknown_s < 30:
        return f"{words}, {level}, {dose}."
    return (
        f"{words}; of {minutes_in_words(today.known.duration_s)} the level is "
        f"known: {level}, {dose}. The rest is not in the dose."
    )


def volume_words(*, is_known: bool, has_begun: bool) -> str:
    """Say how to set the volume before pairs are heard, and when to stop."""
    if is_known:
        ears = "Leave the volume as it was when the level was measured."
    elif has_begun:
        ears = (
            "Leave the volume as it was for the pairs before. If it was moved: set it low, "
            "play the trial sound, and raise it until it is as loud as it was."
        )
    else:
        ears = (
            "Set the volume low and play the trial sound: it is as loud as the loudest clip. "
            "Raise it until it is as loud as in the car, then leave it there."
        )
    stop = (
        "Stop when it is uncomfortable. The rules of your site and its hearing protection "
        "come first."
    )
    return f"{ears} {stop}"


def seat_words(today: Listened) -> str:
    """Say the same in a few words, for a line in a list; nothing when nothing was played."""
    if today.played_s <= 0:
        return ""
    words = f"{minutes_in_words(today.played_s)} today"
    if today.known.duration_s <= 0:
        return f"{words}, dose not known"
    if not _is_told(today):
        return words
    percent = percent_in_words(today.known.niosh_dose_percent)
    return f"{words}, {percent} of a day's allowed dose"


def to_come_words(today: Listened, left_s: float, session_level_db_a: float | None) -> str:
    """Say what the rest of the session adds.

    Parameters
    ----------
    left_s
        Time that the rest is expected to take; taken as played throughout, so that the dose is
        rather too high than too low.
    session_level_db_a
        Mean level of the session at the ear; None when it is not known.
    """
    minutes = minutes_in_words(max(left_s, 60.0))
    if session_level_db_a is None:
        return f"Still to come: about {minutes} more, at a level that is not known."
    # Until the level is told, the sum must not tell it: a side played alone would show in it.
    so_far = today.known
    if not _is_told(today):
        so_far = Exposure.of(session_level_db_a, so_far.duration_s)
    in_all = so_far + Exposure.of(session_level_db_a, left_s)
    percent = percent_in_words(in_all.niosh_dose_percent)
    return (
        f"Still to come: about {minutes} more at the level of this session, "
        f"{percent} of a day's allowed dose with it."
    )


def dose_words(today: Listened) -> str:
    """Say that half, or all, of a day's dose was played; empty below."""
    if today.is_full:
        return (
            "That is a full day's dose: please stop for today. All scores are saved. "
            f"{SITE_RULES_FIRST}"
        )
    if today.is_half:
        return (
            "That is more than half of a day's dose: take your breaks, and stop when "
            f"it gets too much. {SITE_RULES_FIRST}"
        )
    return ""


def half_notice() -> DoseReachedError:
    """Return what is told in passing when half of a day's dose is reached."""
    return DoseReachedError(
        "Half of a day's dose of sound has been played to you today.",
        f"You may go on; take your breaks. {SITE_RULES_FIRST}",
    )


def full_notice() -> DoseReachedError:
    """Return what is told at once when a full day's dose is reached."""
    return DoseReachedError(
        "A full day's dose of sound has been played to you today.",
        (f"Please stop here: P pauses, Esc leaves, and all scores are saved. {SITE_RULES_FIRST}"),
    )


def passed_words() -> str:
    """Recall beside a pair that somebody goes on although a full day's dose is reached."""
    return "A full day's dose is reached: stop as soon as you can."


def stop_words() -> str:
    """Ask to stop, with the reason."""
    return (
        "A full day's dose of sound has been played to you. Please stop for "
        "today: everything you gave is kept, and this session goes on here "
        f"another day. {SITE_RULES_FIRST} Ask the person in charge before you go "
        "on."
    )


def _is_told(today: Listened) -> bool:
    return today.known.duration_s >= TOLD_FROM_S or today.is_half
