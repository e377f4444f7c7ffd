"""Runs of a study with what was measured of them: read, compared, and held against each other."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol, TypeVar

from ratings.acoustics.faults.words import grouped_remarks
from ratings.findings.measured import Measured, RunName, measured
from ratings.findings.name_order import by_number
from ratings.findings.repeats import RepeatFinding, repeat_findings
from ratings.storage.recording_desk import RecordingDesk
from ratings.study.bands import BandTable
from ratings.study.figures import SEVERITIES, Remark
from ratings.study.runs import Run
from ratings.study.sets import Condition
from ratings.study.wording import counted, listed

if TYPE_CHECKING:
    import pandas as pd

_Result = TypeVar("_Result")


@dataclass(frozen=True, slots=True, eq=False)
class MeasuredStudy:
    """Runs and what was measured of them.

    Attributes
    ----------
    codes
        The control first, then by number.
    remarks
        By recording; only of runs with any.
    outdated
        Recordings that were measured with other bands than those in force.
    heard
        Recordings that the panel hears clips of.
    repeats
        Runs of one set and condition that lie too far apart.
    has_failed
        Whether the program failed to compare the sets, or the runs with each other.
    """

    control: str
    codes: tuple[str, ...]
    conditions: tuple[Condition, ...]
    runs: tuple[Run, ...]
    remarks: Mapping[int, Sequence[Remark]] = field(repr=False)
    found: Measured = field(repr=False)
    bands: BandTable = field(repr=False)
    outdated: frozenset[int] = frozenset()
    heard: frozenset[int] = frozenset()
    repeats: tuple[RepeatFinding, ...] = ()
    has_failed: bool = False

    def of(self, code: str, condition: str) -> tuple[Run, ...]:
        """Return the runs of a set in a condition, in their order."""
        return tuple(
            run for run in self.runs if run.set_code == code and run.condition.title == condition
        )

    @property
    def waiting(self) -> tuple[Run, ...]:
        """Runs that are not measured yet, or with other bands than those in force."""
        return tuple(
            run for run in self.runs if run.measured_at is None or run.recording_id in self.outdated
        )

    @property
    def channels(self) -> tuple[str, ...]:
        """Measured channels, the mean of the ears first."""
        return self.found.channels

    def role_of(self, channel: str) -> str:
        """Say what a channel is, where all runs agree; empty where they do not."""
        roles = {
            run.roles[int(channel) - 1]
            for run in self.runs
            if channel.isdecimal() and int(channel) <= len(run.roles)
        }
        return roles.pop() if len(roles) == 1 else ""

    def told(self) -> list[tuple[str, list[Remark]]]:
        """Return what quality control says, of runs and of their agreement; the gravest first."""
        told = [
            (
                f"{each.set}, runs {listed([str(run) for run in each.runs])}\n{each.condition}",
                list(each.remarks),
            )
            for each in self.repeats
        ]
        for run in self.runs:
            remarks = self.remarks.get(run.recording_id, ())
            if remarks:
                words = f"{run.set_code}, run {run.run}\n{run.condition.title}"
                told.append((words, list(grouped_remarks(remarks))))
        return sorted(
            told, key=lambda each: min(SEVERITIES.index(remark.severity) for remark in each[1])
        )


def runs_in_words(runs: Sequence[Run]) -> tuple[str, str, str]:
    """Say how many runs of a set and condition there are, their state, and how many are unsound.

    The last is empty when there is nothing to look at.
    """
    if not runs:
        return "no run", "", ""
    waiting = sum(run.measured_at is None for run in runs)
    true = sum(run.is_level_true for run in runs)
    states = ["all measured" if not waiting else f"{waiting} not measured yet"]
    if true == len(runs):
        states.append("calibrated")
    else:
        states.append("not calibrated" if not true else f"{len(runs) - true} not calibrated")
    if any(run.condition.manoeuvre == "coast-down" and not run.has_speed for run in runs):
        states.append("speed not known")
    grave = [
        f"{count} {severity}"
        for severity in ("void", "doubtful")
        if (count := sum(run.worst == severity for run in runs))
    ]
    return counted(len(runs), "run"), ", ".join(states), ", ".join(grave)


class Attempt(Protocol):
    """How a part of the work is done whose neighbours can do without it."""

    def __call__(self, work: Callable[[], _Result], instead: _Result) -> _Result:
        """Do it; what fails in it is raised, or gives way to `instead`."""


def do(work: Callable[[], _Result], instead: _Result) -> _Result:  # noqa: ARG001  # as Attempt
    """Do it; what fails is raised."""
    return work()


def measured_study(
    desk: RecordingDesk, control: str, codes: Sequence[str], attempt: Attempt = do
) -> MeasuredStudy:
    """Read runs, remarks and figures, compare the sets, and the runs of each set.

    Parameters
    ----------
    control, codes
        Code of the control, and of all sets; see `LeadDesk.control_code` and `LeadDesk.codes`.
    attempt
        How each of the two comparisons is done; by default what fails in one is raised.

    Raises
    ------
    StudyError
        When the study cannot be read.
    """
    runs = tuple(
        sorted(desk.runs(), key=lambda run: (by_number(run.set_code), run.condition.title, run.run))
    )
    conditions, bands = tuple(desk.conditions()), desk.band_table()
    void = {_name(run) for run in runs if run.worst == "void"}
    table = desk.measurement_table()
    titles = [condition.title for condition in conditions]
    without_turns = {_name(run) for run in runs if not _knows_turns(desk, run)}
    found = attempt(lambda: measured(table, control, titles, void, without_turns), None)
    repeats = attempt(lambda: repeat_findings(_without(table, void)), None)
    return MeasuredStudy(
        control=control,
        codes=(control, *sorted(set(codes) - {control}, key=by_number)),
        conditions=conditions,
        runs=runs,
        remarks={
            run.recording_id: tuple(desk.remarks(run.recording_id))
            for run in runs
            if run.worst is not None
        },
        found=found or Measured(control, (control,), (), (), ()),
        bands=bands,
        outdated=frozenset(
            run.recording_id
            for run in runs
            if (last := desk.measuring(run.recording_id)) is not None
            and last.band_version != bands.version
        ),
        heard=desk.heard_recordings(),
        repeats=repeats or (),
        has_failed=found is None or repeats is None,
    )


def _without(table: pd.DataFrame, names: Collection[RunName]) -> pd.DataFrame:
    keys = zip(table["set"], table["condition"], table["run"], strict=True)
    return table.loc[[key not in names for key in keys]]


def _name(run: Run) -> RunName:
    return run.set_code, run.condition.title, run.run


def _knows_turns(desk: RecordingDesk, run: Run) -> bool:
    """Tell whether the orders of the tread could be looked for in a run."""
    tread = desk.tread_of_run(run.recording_id)
    return run.has_speed and bool(tread.size) and tread.pitches is not None
