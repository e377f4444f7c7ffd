"""What the recordings page shows: runs, findings, the choice, and the sentences."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Literal

from PySide6.QtCore import QObject, Signal

from app.background import database
from app.background.database import Poll
from app.background.jobs import Job, attempt
from app.lead.recordings.measuring import MeasuringQueue
from ratings.findings.measured_study import MeasuredStudy, measured_study
from ratings.findings.run_curves import Curve, RunCurves, bands_over_speed, read_curves
from ratings.storage.recording_desk import RecordingDesk
from ratings.study.figures import title_of
from ratings.study.runs import Run
from ratings.study.wording import counted, listed

if TYPE_CHECKING:
    from ratings.findings.measured_figures import FigureFinding
    from ratings.measuring.study_runs import MeasureRun
    from ratings.study.bands import Band, BandTable
    from ratings.study.sets import Condition

View = Literal["runs", "spectrum", "bands", "map", "speed", "figures"]
VIEWS: tuple[View, ...] = ("runs", "spectrum", "bands", "map", "speed", "figures")

POLL_MS = 2000
_NEVER = object()


class RecordingsPresenter(QObject):
    """Keeps runs and measurements of a study up to date, and what the lead looks at.

    Signals
    -------
    changed()
        Results, choice or state are other than before.
    curves_changed()
        The curves of the condition looked at are there, or gone.
    problem_raised(RatingsError)
    told(str)
        Something was done: one sentence.
    """

    changed = Signal()
    curves_changed = Signal()
    problem_raised = Signal(object)  # RatingsError
    told = Signal(str)

    def __init__(
        self,
        desk: RecordingDesk,
        control: str,
        codes: Sequence[str],
        measure: MeasureRun | None = None,
        *,
        is_read_only: bool = False,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self.desk, self.control, self.codes = desk, control, tuple(codes)
        self.is_read_only = is_read_only
        self.measuring = MeasuringQueue(desk, measure, parent=self)
        self.reading: MeasuredStudy | None = None
        self.curves: tuple[RunCurves, ...] | None = None
        self.view: View = "runs"
        self._condition = ""
        self._channel = ""
        self._seen: object = None
        self._is_overtaken = False
        self._job: Job[MeasuredStudy] | None = None
        self._curves_job: Job[tuple[RunCurves, ...]] | None = None
        self._curves_of = self._curves_shown = ""
        self.hidden: frozenset[str] = frozenset()
        #: When each run was last measured before something else was said of it.
        self._changed: dict[int, object] = {}
        self._poll = Poll(desk.last_change, POLL_MS, self)
        self._poll.was_read.connect(self._see)
        self._poll.problem_raised.connect(self.problem_raised)
        self.measuring.changed.connect(self.changed)
        self.measuring.run_finished.connect(self.look)
        self.measuring.problem_raised.connect(self.problem_raised)
        self.measuring.told.connect(self.told)

    def start(self) -> None:
        """Look now and every two seconds from now on."""
        self._poll.start()

    def stop(self) -> None:
        """Look no more, and stop what is being measured."""
        self._poll.stop()
        self.measuring.cancel()

    def look(self) -> None:
        """Read the desk when something was added since the last look."""
        self._poll.look()

    def _see(self, seen: object) -> None:
        if seen != self._seen:
            self._seen = seen
            self.refresh()

    def refresh(self) -> None:
        """Read runs and figures anew."""
        if self._job is not None:
            self._is_overtaken = True
            return
        desk, control, codes = self.desk, self.control, self.codes
        self._job = job = Job(lambda _progress: measured_study(desk, control, codes, attempt), self)
        job.succeeded.connect(self._take)
        job.refused.connect(self.problem_raised)
        job.ended.connect(self._end)
        job.start()

    @property
    def conditions(self) -> tuple[Condition, ...]:
        """Conditions of the study, in the order of the plan."""
        return () if self.reading is None else self.reading.conditions

    @property
    def condition(self) -> Condition | None:
        """The condition looked at: the chosen one, else the first that was measured."""
        known = {condition.title: condition for condition in self.conditions}
        if self._condition in known:
            return known[self._condition]
        measured = () if self.reading is None else self.reading.found.conditions
        first = next((known[title] for title in measured if title in known), None)
        return first or next(iter(known.values()), None)

    @property
    def channel(self) -> str:
        """The channel looked at; the mean of the ears while nothing else was chosen."""
        known = () if self.reading is None else self.reading.channels
        return self._channel if self._channel in known else next(iter(known), "")

    def channel_words(self, channel: str) -> str:
        """Say what a channel is."""
        if channel == "ears":
            return "mean of the ears"
        role = "" if self.reading is None else self.reading.role_of(channel)
        return f"channel {channel}" + (f", {role}" if role else "")

    def choose_condition(self, title: str) -> None:
        """Look at another condition."""
        self._condition = title
        self._read_curves()
        self.changed.emit()

    def choose_channel(self, channel: str) -> None:
        """Look at another channel."""
        self._channel = channel
        self.changed.emit()
        self.curves_changed.emit()

    def choose_view(self, view: View) -> None:
        """Look at the measurements in another way."""
        self.view = view
        self._read_curves()
        self.changed.emit()

    def show_set(self, code: str, *, is_shown: bool) -> None:
        """Show or hide a set in the plots."""
        self.hidden = self.hidden - {code} if is_shown else self.hidden | {code}
        self.curves_changed.emit()

    def shown_curves(self, curves: Sequence[Curve]) -> tuple[Curve, ...]:
        """Leave out hidden sets, the control first."""
        order = {code: place for place, code in enumerate(self.all_codes)}
        kept = [curve for curve in curves if curve.code not in self.hidden]
        return tuple(sorted(kept, key=lambda curve: order.get(curve.code, len(order))))

    @property
    def all_codes(self) -> tuple[str, ...]:
        """Codes of all sets, the control first."""
        return self.codes if self.reading is None else self.reading.codes

    def block(self) -> tuple[FigureFinding, ...]:
        """Return the figures of the condition and channel looked at."""
        if self.reading is None or self.condition is None:
            return ()
        return self.reading.found.block(self.condition.title, self.channel)

    def runs_here(self) -> tuple[Run, ...]:
        """Return the runs of the condition looked at."""
        if self.reading is None or self.condition is None:
            return ()
        title = self.condition.title
        return tuple(run for run in self.reading.runs if run.condition.title == title)

    @property
    def waiting(self) -> tuple[Run, ...]:
        """Runs that are to be measured: for the first time, or again."""
        waiting = set() if self.reading is None else {r.recording_id for r in self.reading.waiting}
        return tuple(
            run
            for run in self._all_runs()
            if run.recording_id in waiting
            or self._changed.get(run.recording_id, _NEVER) == run.measured_at
        )

    def measure(self) -> None:
        """Measure what is not measured yet."""
        self.measuring.measure(self.waiting)

    def measure_again(self, recording_id: int) -> None:
        """Measure a run of which something else was said; it waits when others are measured."""
        run = next((r for r in self._all_runs() if r.recording_id == recording_id), None)
        if run is not None:
            self._changed[recording_id] = run.measured_at
            self.measuring.measure([run])
        self.look()

    def change_bands(self, bands: tuple[Band, ...]) -> None:
        """Put other bands in force, as a new version."""
        database.ask(
            self,
            lambda: self.desk.change_bands(bands),
            self._tell_bands,
            self.problem_raised.emit,
        )

    def _tell_bands(self, table: BandTable) -> None:
        self.told.emit(
            f"Bands are now version {table.version}. Measure the runs again to use them."
        )
        self.refresh()

    def heading(self) -> str:
        """Say the finding."""
        from ratings.findings.measured_words import headline

        if self.reading is None:
            return "Reading the runs"
        if not self.reading.runs:
            return "No run has been imported yet."
        if self.reading.has_failed and not self.reading.found.findings:
            return "The sets could not be compared."
        return headline(self.reading.found, self.channel)

    def standing_line(self) -> str:
        """Say what the finding rests on and what is left out."""
        from ratings.findings.measured_words import further_words, void_words

        reading = self.reading
        if reading is None or not reading.runs:
            return ""
        parts = [
            "A comparison failed: a fault of the program, written to its log."
            if reading.has_failed
            else "",
            further_words(reading.found, self.channel),
            self._measured_words(reading),
            void_words(reading.found.void),
            self._void_clip_words(reading),
            self._level_words(),
        ]
        return " ".join(part for part in parts if part)

    def emptiness(self) -> str:
        """Say what would be seen where there is nothing to draw, and why; empty when there is."""
        if self.reading is None or self.condition is None or self.view == "runs":
            return ""
        shown = {
            "spectrum": "The spectrum of every set over frequency, on one axis.",
            "bands": "How far each set is from the control in every band.",
            "map": "Level over time and frequency, with the lines that were found.",
            "speed": "Level over speed in a coast-down: no peaks on the way down.",
            "figures": "Every figure of the sets beside the control.",
        }[self.view]
        if self.view == "speed" and self.condition.manoeuvre == "steady":
            return f"{shown} This condition is driven at one speed: choose a coast-down."
        if any(run.measured_at is not None for run in self.runs_here()):
            if self.view != "speed" or self.curves is None or bands_over_speed(self.curves):
                return ""
            return (
                f"{shown} No measured run of {self.condition.title} knows its speed: say "
                "where it comes from under Edit run details, and measure again."
            )
        return f"{shown} No run of {self.condition.title} has been measured yet."

    def condition_line(self) -> str:
        """Say what stands out in the condition looked at."""
        from ratings.findings.measured_words import (
            condition_sentence,
            missing_words,
            only_here_words,
        )

        if self.reading is None or self.condition is None:
            return ""
        block = self.block()
        missing = missing_words(self.reading.found, self.condition.title, self.channel)
        parts = (condition_sentence(block), only_here_words(block), missing if block else "")
        return " ".join(part for part in parts if part)

    def compared_levels(self) -> tuple[FigureFinding, ...]:
        """Return the levels of the condition and channel looked at that are compared."""
        return tuple(finding for finding in self.block() if finding.is_compared_level)

    def level_name(self, key: str) -> str:
        """Name a level that is compared; a band with its range."""
        bands = () if self.reading is None else self.reading.bands.bands
        names = {f"band_{band.key}": f"{band.name}, {band.range_text}" for band in bands}
        names |= {"cavity_line_level": "Cavity line", "leq_a": "Overall, A-weighted"}
        return names.get(key) or title_of(key)

    def levels_line(self) -> str:
        """Say what stands out in the condition looked at, and how loud the largest change is."""
        from ratings.findings.measured_words import heard_words

        heard = heard_words(self.compared_levels())
        return " ".join(part for part in (self.condition_line(), heard) if part)

    def runs_words(self, runs: Mapping[str, int] | None = None) -> str:
        """Say how many runs of each set count here; those of its figures if none are given."""
        from ratings.findings.measured_words import runs_of_sets_words

        if runs is None:
            most = dict.fromkeys(self.all_codes, 0)
            for each in (each for finding in self.block() for each in finding.sets):
                most[each.set] = max(most.get(each.set, 0), each.runs)
            runs = {code: count for code, count in most.items() if count}
        return runs_of_sets_words(runs)

    def left_out_words(self) -> str:
        """Say which runs of the condition looked at are left out; empty when none is."""
        from ratings.findings.measured_words import void_words

        if self.reading is None or self.condition is None:
            return ""
        title = self.condition.title
        return void_words([run for run in self.reading.found.void if run[1] == title])

    def station_line(self) -> str:
        """Say in a few words what is missing."""
        if self.reading is None:
            return "reading"
        runs = self.reading.runs
        if not runs:
            return "no runs yet"
        words = counted(len(runs), "run")
        bad = sum(run.worst in {"void", "doubtful"} for run in runs)
        if self.waiting:
            return f"{len(self.waiting)} of {len(runs)} to measure"
        return f"{words}, {bad} to check" if bad else words

    @property
    def is_done(self) -> bool:
        """Whether every set was measured in every condition and nothing waits."""
        reading = self.reading
        if reading is None or not reading.runs or self.waiting:
            return False
        return all(
            any(run.worst != "void" for run in reading.of(code, condition.title))
            for code in reading.codes
            for condition in reading.conditions
        )

    def _all_runs(self) -> tuple[Run, ...]:
        return () if self.reading is None else self.reading.runs

    def _measured_words(self, reading: MeasuredStudy) -> str:
        count = counted(len(reading.runs), "run")
        old = len(reading.outdated)
        fresh = len(reading.waiting) - old
        words = f"{count}, {fresh} not measured yet." if fresh else f"{count}, all measured."
        return words + (f" {old} with older bands." if old else "")

    def _void_clip_words(self, reading: MeasuredStudy) -> str:
        void = [r for r in reading.runs if r.worst == "void" and r.recording_id in reading.heard]
        if not void:
            return ""
        codes = listed(list(dict.fromkeys(run.set_code for run in void)))
        return f"The panel hears a void run of {codes}."

    def _level_words(self) -> str:
        runs = () if self.reading is None else self.reading.runs
        uncalibrated = sum(not run.is_level_true for run in runs)
        if not uncalibrated:
            return ""
        if uncalibrated == len(runs):
            return "No run is calibrated: levels are re full scale."
        return f"{counted(uncalibrated, 'run')} not calibrated."

    def _take(self, reading: MeasuredStudy) -> None:
        self.reading = reading
        self._curves_of = ""
        self._read_curves()

    def _end(self) -> None:
        self._job = None
        if self._is_overtaken:
            self._is_overtaken = False
            self.refresh()
        self.changed.emit()

    def _read_curves(self) -> None:
        condition = self.condition
        needed = self.view in {"spectrum", "map", "speed"}
        if not needed or condition is None or condition.title == self._curves_of:
            return
        if self._curves_job is not None:
            self._curves_job.cancel()
        if self._curves_shown != condition.title:
            self.curves = None
        self._curves_of = self._curves_shown = condition.title
        desk, runs = self.desk, self.runs_here()
        self._curves_job = job = Job(lambda progress: read_curves(desk, runs, progress), self)
        job.succeeded.connect(lambda curves: self._take_curves(job, curves))
        job.refused.connect(self.problem_raised)
        job.start()
        self.curves_changed.emit()

    def _take_curves(self, job: Job[tuple[RunCurves, ...]], curves: tuple[RunCurves, ...]) -> None:
        if job is self._curves_job:
            self.curves = curves
            self._curves_job = None
            self.curves_changed.emit()
