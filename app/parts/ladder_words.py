"""What a ladder says in words about its marks."""

from typing import Literal

from PySide6.QtCore import QCoreApplication

from app.parts.score_rail import Marks, score_text
from app.parts.tokens import Side

Comparison = Literal["quieter", "better"]


def rail_words() -> tuple[str, str, str]:
    """Words for 1, 5 and 10."""
    return (
        QCoreApplication.translate("ScoreLadder", "not acceptable"),
        QCoreApplication.translate("ScoreLadder", "borderline"),
        QCoreApplication.translate("ScoreLadder", "nothing to hear"),
    )


def no_difference() -> str:
    """Words for two sides that sound alike."""
    return QCoreApplication.translate("ScoreLadder", "no difference")


def asks_for_equal() -> str:
    """Words for two sides that sound alike and have no score yet."""
    return QCoreApplication.translate("ScoreLadder", "alike: give one score")


def typing_words(side: Side, text: str) -> str:
    """Words for a number that is being typed."""
    return QCoreApplication.translate("ScoreLadder", "typing for {0}: {1}").format(side, text)


def difference_sentence(marks: Marks, step: float, comparison: Comparison) -> str:
    """Say which side is better and by how much, or what is still missing."""
    if marks.a is None and marks.b is None:
        return QCoreApplication.translate("ScoreLadder", "not rated yet")
    if marks.a is None:
        return QCoreApplication.translate("ScoreLadder", "A not rated yet")
    if marks.b is None:
        return QCoreApplication.translate("ScoreLadder", "B not rated yet")
    if marks.better is None:
        return no_difference()
    amount = score_text(abs(marks.a - marks.b), step)
    if comparison == "quieter" and marks.better == "A":
        return QCoreApplication.translate("ScoreLadder", "A quieter by {0}").format(amount)
    if comparison == "quieter":
        return QCoreApplication.translate("ScoreLadder", "B quieter by {0}").format(amount)
    if marks.better == "A":
        return QCoreApplication.translate("ScoreLadder", "A better by {0}").format(amount)
    return QCoreApplication.translate("ScoreLadder", "B better by {0}").format(amount)


def spoken_marks(marks: Marks, step: float) -> str:
    """Both scores as a screen reader should say them."""
    spoken = []
    if marks.a is not None:
        spoken.append(
            QCoreApplication.translate("ScoreLadder", "A {0}").format(score_text(marks.a, step))
        )
    if marks.b is not None:
        spoken.append(
            QCoreApplication.translate("ScoreLadder", "B {0}").format(score_text(marks.b, step))
        )
    return ", ".join(spoken)
