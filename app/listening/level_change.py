"""How loud this and later pairs are played beside those before, and what is said of it."""

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from ratings.errors import StudyError
from ratings.storage.listening_rows import PairAnswers
from ratings.study.listening import Pair, PlayedLevel


class LevelChange(NamedTuple):
    """From which pair on, by its number, clips are played at another level than before."""

    from_position: int
    before: PlayedLevel
    now: PlayedLevel

    def words(self) -> str:
        """Say it in one sentence."""
        louder_db = self.now.louder_db(self.before)
        if louder_db is None:
            if self.now.output_db is None:
                return (
                    f"From pair {self.from_position} on the level is unknown; before it was known."
                )
            return f"From pair {self.from_position} on the level is known; before it was unknown."
        words = f"From pair {self.from_position} on {louder_words(louder_db)} than before"
        if self.now.output_db != self.before.output_db:
            return f"{words} at the same volume: the output's level was set anew."
        return f"{words}."


def level_change(
    pairs: Iterable[Pair], answers: Mapping[int, PairAnswers], now: PlayedLevel
) -> LevelChange | None:
    """Compare the level now with that of the closed pairs; None where all were played alike.

    Parameters
    ----------
    pairs, answers
        As a desk has them, in the order of hearing. Pairs that tell no level say nothing.
    """
    position, change = 0, None
    for pair in pairs:
        level = answers[pair.pair_id].level
        if not answers[pair.pair_id].is_locked or level is None:
            continue
        position = pair.position
        if now.louder_db(level) != 0:
            change = LevelChange(position + 1, level, now)
    return change


def hear_again(louder_db: float | None) -> StudyError:
    """Return why both sides of the pair at hand must be heard again."""
    if louder_db is None:
        happened = "This pair is played at another level than when you heard it before."
    else:
        happened = f"This pair is played {louder_words(louder_db)} than when you heard it before."
    return StudyError(happened, "Listen to both sides again; scores you gave are kept.")


def louder_words(louder_db: float) -> str:
    """Say how much louder something is played; quieter for a negative number."""
    return f"{abs(louder_db):g} dB {'louder' if louder_db > 0 else 'quieter'}"
