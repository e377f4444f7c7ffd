"""What a ladder says in words about its marks."""

from typing import Literal

from app.parts.score_rail import Marks, score_text
from ratings.study.listening import Side

Comparison = Literal["quieter", "better"]


def rail_words() -> tuple[str, str, str]:
    """Words for 1, 5 and 10."""
    return (
        "not acceptable",
        "borderline",
        "nothing to hear",
    )


def no_difference() -> str:
    """Words for two sides that sound alike."""
    return "no difference"


def asks_for_equal() -> str:
    """Words for two sides that sound alike and have no score yet."""
    return "alike: give one score"


def typing_words(side: Side, text: str) -> str:
    """Words for a number that is being typed."""
    return f"typing for {side}: {text}"


def difference_sentence(marks: Marks, step: float, comparison: Comparison) -> str:
    """Say which side is better and by how much, or what is still missing."""
    if marks.a is None and marks.b is None:
        return "not rated yet"
    if marks.a is None:
        return "A not rated yet"
    if marks.b is None:
        return "B not rated yet"
    if marks.better is None:
        return no_difference()
    amount = score_text(abs(marks.a - marks.b), step)
    if comparison == "quieter" and marks.better == "A":
        return f"A quieter by {amount}"
    if comparison == "quieter":
        return f"B quieter by {amount}"
    if marks.better == "A":
        return f"A better by {amount}"
    return f"B better by {amount}"


def spoken_marks(marks: Marks, step: float) -> str:
    """Both scores as a screen reader should say them."""
    spoken = []
    if marks.a is not None:
        spoken.append(f"A {score_text(marks.a, step)}")
    if marks.b is not None:
        spoken.append(f"B {score_text(marks.b, step)}")
    return ", ".join(spoken)
