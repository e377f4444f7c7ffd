"""What a verdict is asked of: scores, measurements and settings of one study, read together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from ratings.findings.measured_study import Attempt, MeasuredStudy, do, measured_study
from ratings.findings.verdict.cautions import Seat
from ratings.storage.key import Opening, names, opening
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import session_seats
from ratings.storage.recording_desk import RecordingDesk
from ratings.storage.verdict_desk import SettingChange, VerdictDesk
from ratings.study.attributes import Attribute, Scale
from ratings.study.study_settings import StudySettings

if TYPE_CHECKING:
    import pandas as pd

    from ratings.storage.study_folder import Study


@dataclass(frozen=True, slots=True, eq=False)
class Question:
    """What a verdict is asked of.

    Attributes
    ----------
    scores
        Every score that counts, as `LeadDesk.score_table` returns it.
    control
        Its code.
    codes
        Of all sets.
    conditions
        Titles in the order of the plan.
    seats
        How far each session has got; evaluators without a seat have finished.
    measured
        What was measured; None without runs.
    names
        Of the sets by code, once the key is open.
    opening
        Who opened the key first, when and why; None while it is closed.
    changes
        Of the settings.
    """

    scores: pd.DataFrame = field(repr=False)
    control: str
    codes: tuple[str, ...]
    attributes: tuple[Attribute, ...]
    conditions: tuple[str, ...]
    scale: Scale
    settings: StudySettings
    seats: tuple[Seat, ...] = ()
    measured: MeasuredStudy | None = None
    names: Mapping[str, str] = field(default_factory=dict)
    opening: Opening | None = None
    changes: tuple[SettingChange, ...] = ()

    @property
    def finished(self) -> frozenset[str]:
        """Evaluators whose scores count: everybody who is not on the way."""
        on_the_way = {seat.code for seat in self.seats if not seat.is_finished}
        return frozenset(set(self.scores["evaluator"].unique()) - on_the_way)

    @property
    def is_under_way(self) -> bool:
        """Whether somebody has begun and not finished."""
        return any(seat.is_begun and not seat.is_finished for seat in self.seats)


def read_question(study: Study, attempt: Attempt = do) -> Question:
    """Read what the verdict on a study is asked of.

    Raises
    ------
    StudyError
        When the study cannot be read.
    """
    lead, recordings, desk = LeadDesk(study), RecordingDesk(study), VerdictDesk(study)
    opened = opening(study)
    control, codes = lead.control_code(), lead.codes()
    measured = measured_study(recordings, control, codes, attempt)
    return Question(
        scores=lead.score_table(),
        control=control,
        codes=codes,
        attributes=tuple(study.attributes),
        conditions=tuple(condition.title for condition in lead.conditions()),
        scale=study.facts.scale,
        settings=desk.settings(),
        seats=tuple(
            Seat(seat.evaluator.code, seat.locked_count, seat.pair_count, seat.is_begun)
            for seat in session_seats(study)
        ),
        measured=measured if measured.runs else None,
        names=names(study) if opened is not None else {},
        opening=opened,
        changes=desk.changes(),
    )
