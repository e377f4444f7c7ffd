"""What the lead's desk begins with, read in one go off the window's thread."""

from dataclasses import dataclass

from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.recording_desk import RecordingDesk
from ratings.storage.study_folder import Study
from ratings.storage.study_overview import StudyOverview, study_overview
from ratings.study.runs import SetName, Tread
from ratings.study.sets import Manoeuvre


@dataclass(frozen=True, slots=True)
class LeadReading:
    """What of a study stays as it is while its desk is open, and the tyres as they are known.

    Attributes
    ----------
    pair_count
        Pairs of a session; 0 while nobody has a seat.
    lengths_s
        Lengths of the clips of a session, by manoeuvre.
    """

    overview: StudyOverview
    control_code: str
    pair_count: int
    lengths_s: dict[Manoeuvre, list[float]]
    sets: tuple[SetName, ...]
    treads: dict[int, Tread]


def read_lead(study: Study) -> LeadReading:
    """Read it."""
    seats = session_seats(study)
    lengths_s: dict[Manoeuvre, list[float]] = {}
    for pair in ListeningDesk(study, seats[0].session_id).pairs if seats else ():
        lengths_s.setdefault(pair.manoeuvre, []).append(pair.clip_a.duration_s)
    recordings = RecordingDesk(study)
    return LeadReading(
        overview=study_overview(study),
        control_code=LeadDesk(study).control_code(),
        pair_count=seats[0].pair_count if seats else 0,
        lengths_s=lengths_s,
        sets=recordings.sets(),
        treads=recordings.treads(),
    )
