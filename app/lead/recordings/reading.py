"""Everything the recordings page shows, read from the desk off the window's thread."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from app.background.jobs import attempt
from ratings.storage.recording_desk import RecordingDesk
from ratings.study.runs import Run

if TYPE_CHECKING:
    import pandas as pd

    from ratings.findings.measured import Measured
    from ratings.findings.repeats import RepeatFinding
    from ratings.study.bands import BandTable
    from ratings.study.figures import Remark
    from ratings.study.sets import Condition


@dataclass(frozen=True, slots=True, eq=False)
class Reading:
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


def read(desk: RecordingDesk, control: str, codes: Sequence[str]) -> Reading:
    """Read runs, remarks and figures, and compare the sets."""
    from ratings.findings.measured import Measured, measured
    from ratings.findings.name_order import by_number
    from ratings.findings.repeats import repeat_findings

    runs = tuple(
        sorted(desk.runs(), key=lambda run: (by_number(run.set_code), run.condition.title, run.run))
    )
    conditions, bands = tuple(desk.conditions()), desk.band_table()
    void = {_name(run) for run in runs if run.worst == "void"}
    table = desk.measurement_table()
    titles = [condition.title for condition in conditions]
    without_turns = {_name(run) for run in runs if not _knows_turns(desk, run)}
    found = attempt(lambda: measured(table, control, titles, void, without_turns), None)
    repeats = attempt(lambda: repeat_findings(sound(table, runs)), None)
    return Reading(
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


def sound(table: pd.DataFrame, runs: Sequence[Run]) -> pd.DataFrame:
    """Leave out the figures of void runs."""
    void = {_name(run) for run in runs if run.worst == "void"}
    keys = zip(table["set"], table["condition"], table["run"], strict=True)
    return table.loc[[key not in void for key in keys]]


def _name(run: Run) -> tuple[str, str, int]:
    return run.set_code, run.condition.title, run.run


def _knows_turns(desk: RecordingDesk, run: Run) -> bool:
    """Tell whether the orders of the tread could be looked for in a run."""
    tread = desk.tread_of_run(run.recording_id)
    return run.has_speed and bool(tread.size) and tread.pitches is not None
