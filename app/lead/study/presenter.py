"""What is in the study, on blind codes, in sentences; without a window."""

from PySide6.QtCore import QObject

from app.lead.reading import LeadReading
from app.lead.study.copy_saving import CopySaving
from app.station import State
from ratings.storage.study_folder import Study
from ratings.study.sets import Manoeuvre
from ratings.study.wording import counted

_DRIVEN: dict[Manoeuvre, str] = {"steady": "at steady speed", "coast-down": "in a coast-down"}


class StudyPresenter(QObject):
    """Says what is compared, under which codes, and how clips and sessions were made.

    Attributes
    ----------
    saving
        Saves a copy of the study.
    """

    def __init__(self, study: Study, reading: LeadReading, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._study = study
        self._reading, self._overview = reading, reading.overview
        self.saving = CopySaving(study, self)

    @property
    def is_invented(self) -> bool:
        """Whether there is nothing real in it."""
        return self._study.facts.is_invented

    @property
    def codes(self) -> tuple[str, ...]:
        """Blind codes of the sets."""
        return self._overview.set_codes

    def heading(self) -> str:
        """Say what the study compares."""
        vehicle = self._said_once(self._study.facts.vehicle)
        count = len(self._overview.set_codes)
        return f"{count} coded sets on the {vehicle}, in {self._conditions_words()}."

    def state(self) -> State:
        """Say what is in the study, in a few words."""
        words = f"{len(self._overview.set_codes)} sets, {self._conditions_words()}"
        return State(words, is_done=True)

    def standing_line(self) -> str:
        """Say which study it is, and how far the key is."""
        facts = self._study.facts
        return (
            f"{self._said_once(facts.name)}. Made {facts.created_at:%Y-%m-%d}. Sets "
            "stay coded here; the key is opened under Verdict."
        )

    def note(self) -> str:
        """Return what the lead has noted, as a sentence; empty when nothing."""
        note = self._said_once(self._study.facts.note)
        return note if not note or note.endswith((".", "!", "?")) else f"{note}."

    def control_words(self) -> str:
        """Say which code is the control."""
        return f"{self._reading.control_code} is the control: every other set is heard against it."

    def conditions(self) -> list[str]:
        """Return the titles of the conditions."""
        return [condition.title for condition in self._overview.conditions]

    def clip_lines(self) -> list[str]:
        """Say how the clips were made."""
        overview = self._overview
        heard = f"{overview.heard_count} recordings are heard"
        if overview.shares_clips:
            copies = (
                f"{heard}. This study is from an "
                "earlier version: all pairs of a condition play the same clip of the "
                "control, and whoever searches the study's file can find it. Make it "
                "again before an important panel."
            )
        else:
            copies = f"{heard}; every pair plays copies of its own."
        levels = "Not calibrated: levels are as recorded, and not known in pascal."
        if overview.is_calibrated:
            levels = "Calibrated: levels are known in pascal."
        remarks = [
            f"{count} of {overview.heard_count} recordings: {remark}."
            for remark, count in overview.remarks
        ]
        return [copies, levels, *remarks]

    def session_lines(self) -> list[str]:
        """Say what one session consists of."""
        pair_count, lengths_s = self._reading.pair_count, self._reading.lengths_s
        if not pair_count:
            return ["Nobody has a seat yet, so no session has been planned."]
        clips = [f"{_length_words(lengths_s[kind])} {_DRIVEN[kind]}" for kind in sorted(lengths_s)]
        return [
            (
                f"{counted(pair_count, 'pair')} for each evaluator; one null "
                "pair and one repeat are hidden among them."
            ),
            f"Clips last {', '.join(reversed(clips))}.",
        ]

    def scale_words(self) -> str:
        """Say which scores can be given."""
        scale = self._study.facts.scale
        return (
            f"From {scale.low:g} to {scale.high:g} in steps of {scale.step:g}; "
            f"{scale.high:g} means that there is nothing to hear."
        )

    def attributes(self) -> list[tuple[str, str]]:
        """Return what is rated: the name and the card of each attribute."""
        return [
            (
                attribute.name,
                attribute.card
                + (f" (only in a {attribute.manoeuvre})" if attribute.manoeuvre else ""),
            )
            for attribute in self._study.attributes
        ]

    def _conditions_words(self) -> str:
        return counted(len(self._overview.conditions), "condition")

    def _said_once(self, text: str) -> str:
        """Leave out what the notice of the page says of the whole study."""
        if not self.is_invented:
            return text
        sentences = text.replace(" (invented)", "").split(". ")
        return ". ".join(s for s in sentences if "invented" not in s.casefold())


def _length_words(lengths_s: list[float]) -> str:
    """Say the length of clips in seconds, as a range where they differ."""
    shortest, longest = f"{round(min(lengths_s), 1):g}", f"{round(max(lengths_s), 1):g}"
    return f"{shortest} s" if shortest == longest else f"{shortest} to {longest} s"
