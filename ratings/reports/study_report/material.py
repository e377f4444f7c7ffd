"""Everything that the report on a study says, read together before anything is written."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING

from ratings.findings.run_curves import RunCurves, read_curves
from ratings.findings.verdict.judging import StudyVerdict, judge
from ratings.findings.verdict.question import read_question
from ratings.reports.colours import LIGHT
from ratings.reports.set_marks import SetMark, set_marks
from ratings.reports.written_notes import WrittenNote, written_notes
from ratings.storage.blind_study import StudyFacts
from ratings.storage.key import BlindnessLog, blindness_log, seed_if_open
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.recording_desk import RecordingDesk
from ratings.study.progress import Progress, quiet
from ratings.study.runs import ChannelSetting, Run, RunNote

if TYPE_CHECKING:
    import pandas as pd

    from ratings.storage.study_folder import Study


@dataclass(frozen=True, slots=True, eq=False)
class Material:
    """A study as its report tells it.

    Attributes
    ----------
    written_at
        The only thing that differs between two reports on the same study.
    notes
        What evaluators wrote.
    curves
        Arrays of measured runs.
    run_notes, channels
        By recording.
    seed
        Of the order in which pairs were heard; empty while the key is closed.
    scores, measurements
        The two tables, sets under codes.
    """

    facts: StudyFacts
    verdict: StudyVerdict
    written_at: datetime
    blindness: BlindnessLog
    notes: tuple[WrittenNote, ...] = ()
    curves: tuple[RunCurves, ...] = field(default=(), repr=False)
    run_notes: Mapping[int, RunNote] = field(default_factory=dict, repr=False)
    channels: Mapping[int, tuple[ChannelSetting, ...]] = field(default_factory=dict, repr=False)
    seed: str = ""
    scores: pd.DataFrame | None = field(default=None, repr=False)
    measurements: pd.DataFrame | None = field(default=None, repr=False)

    @property
    def runs(self) -> tuple[Run, ...]:
        """Every run of the study."""
        measured = self.verdict.question.measured
        return () if measured is None else measured.runs

    @property
    def marks(self) -> dict[str, SetMark]:
        """How each set is told from the others, by code; named once the key is open."""
        question = self.verdict.question
        codes = {code: self.verdict.name_of(code) for code in question.codes}
        marks = set_marks(list(codes.values()), codes[question.control], LIGHT)
        return {code: marks[name] for code, name in codes.items()}

    def named(self, sentence: str) -> str:
        """Put names in place of codes in a sentence of the measurements, once the key is open."""
        for code, name in self.verdict.question.names.items():
            sentence = re.sub(rf"\b[Ss]et {re.escape(code)}\b", name.replace("\\", r"\\"), sentence)
        return sentence

    @property
    def panel_words(self) -> str:
        """Who was heard, such as ``8 evaluators``."""
        from ratings.study.wording import counted

        return counted(len(self.verdict.evaluators), "evaluator")


def read_material(
    study: Study, clock: Callable[[], datetime], progress: Progress = quiet
) -> Material:
    """Read a study for its report.

    Raises
    ------
    StudyError
        When the study cannot be read, or was changed past the program.
    """
    progress(0.0, "Checking the study")
    study.refuse_changed_rows()
    progress(0.1, "Reading the scores")
    lead, recordings = LeadDesk(study), RecordingDesk(study)
    question = read_question(study)
    progress(0.3, "Working out the verdict")
    verdict = judge(question)
    runs = () if question.measured is None else question.measured.runs
    progress(0.5, "Reading the curves")
    return Material(
        facts=study.facts,
        verdict=verdict,
        written_at=clock(),
        blindness=blindness_log(study),
        notes=written_notes(lead.note_table()),
        curves=read_curves(recordings, runs, quiet),
        run_notes={run.recording_id: recordings.note(run.recording_id) for run in runs},
        channels={run.recording_id: recordings.channel_settings(run.recording_id) for run in runs},
        seed=seed_if_open(study),
        scores=question.scores,
        measurements=lead.measurement_table(),
    )
