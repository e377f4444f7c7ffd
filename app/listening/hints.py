"""The one thing to do next with a pair, in the words of the line at its foot."""

from app.listening.attention import LONGEST_UNATTENDED_S
from app.listening.hearing import Hearing
from app.listening.pair_form import NotYetError, PairForm
from app.listening.pair_player import PairPlayer
from app.listening.score_entry import ScoreEntry
from ratings.study.listening import SIDES

LEFT_OUT = "Pressed while the pair before was closing: left out. Press it again for this pair."


def hint_words(form: PairForm, player: PairPlayer, entry: ScoreEntry, *, is_last: bool) -> str:
    """Say the one thing to do next; nothing where the keys needed most may stand.

    Parameters
    ----------
    is_last
        Whether no pair is left behind this one.
    """
    if player.duration_s <= 0:
        return "This pair has no sound. S sets it aside; it can be taken up again."
    if not form.is_heard:
        return Hearing(form, player).sentence()
    if entry.typed is not None:
        return typing_words(entry)
    if form.waits_for_equal(form.attribute.key):
        return "No difference: give one score for both, by digit or on the rail."
    if form.first_missing() is None:
        if is_last:
            return "All rated. Enter closes this last pair and ends the session."
        return "All rated. Enter closes this pair for good and brings the next."
    return ""


def typing_words(entry: ScoreEntry) -> str:
    """Say which score stands for what is being typed, and what takes it."""
    typed = entry.typed
    if typed is None:
        return ""
    value = entry.value_of(typed)
    shown = typed.text if value is None else f"{value:g}"
    return f"{shown} for side {typed.side}: Enter or a short pause takes it, Esc drops it."


def unattended_words() -> str:
    """Say that the sound rests because nobody attended to it."""
    return f"Paused: no key and no movement for {LONGEST_UNATTENDED_S // 60} min. P plays on."


def no_set_aside(player: PairPlayer) -> NotYetError:
    """Return why a pair that has its sound is not set aside."""
    told = "This pair has its sound."
    if player.trouble is not None:
        told = "The sound device is away, not the sound of this pair."
    return NotYetError(told, "S sets aside only a pair that cannot be played.")


def score_missing(form: PairForm) -> NotYetError:
    """Return which score of the active attribute is missing before the pair can be closed."""
    side = next(s for s in SIDES if form.score_of(form.attribute.key, s) is None)
    return NotYetError(
        f"{form.attribute.name} has no score for side {side} yet.",
        "Score it, or press = for no difference.",
    )
