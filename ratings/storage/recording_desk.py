"""What the lead's side reads and keeps about runs: recordings, channels, measurements.

Sets appear under their codes; their names are read only to say of which set a new recording is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import sqlalchemy as sa

from ratings.storage import measurement_rows, run_rows, tables
from ratings.storage.array_files import Array, read_arrays, write_arrays
from ratings.storage.blind_study import utc_now
from ratings.storage.listening_rows import condition_from
from ratings.storage.run_import import bring_run, bring_speed, refuse_unlike
from ratings.storage.study_folder import Study
from ratings.study.progress import Progress, quiet
from ratings.study.runs import (
    ChannelSetting,
    NewRun,
    Run,
    RunNote,
    SetName,
    SpeedSource,
    Tread,
)

if TYPE_CHECKING:
    import pandas as pd

    from ratings.storage.measurement_rows import Measuring
    from ratings.study.bands import Band, BandTable
    from ratings.study.figures import Figure, Remark
    from ratings.study.sets import Condition


class RecordingDesk:
    """The lead's view of an open study's runs, sets under blind codes.

    Everything kept is a new row, and the latest counts. A recording is named by its id, as `runs`
    gives it.
    """

    def __init__(self, study: Study, clock: Callable[[], datetime] = utc_now) -> None:
        self.study = study
        self._clock = clock

    def sets(self) -> tuple[SetName, ...]:
        """Return the sets by name, in the order of the plan: for assigning recordings only."""
        query = sa.select(tables.tyre_set).order_by(tables.tyre_set.c.position)
        with self.study.reading() as connection:
            return tuple(SetName(row.set_id, row.name) for row in connection.execute(query))

    def conditions(self) -> tuple[Condition, ...]:
        """Return the conditions in the order of the plan."""
        query = sa.select(tables.condition).order_by(tables.condition.c.position)
        with self.study.reading() as connection:
            return tuple(condition_from(row) for row in connection.execute(query))

    def runs(self) -> tuple[Run, ...]:
        """Return every run, in the order of conditions, blind codes and runs."""
        with self.study.reading() as connection:
            return run_rows.runs(connection)

    def heard_recordings(self) -> frozenset[int]:
        """Return the recordings that the panel hears clips of."""
        query = sa.select(tables.clip_source.c.recording_id).distinct()
        with self.study.reading() as connection:
            return frozenset(connection.execute(query).scalars())

    def run_file(self, recording_id: int) -> Path:
        """Return where the recording of a run lies; its name tells nothing of what was driven."""
        column = tables.recording.c
        query = sa.select(column.stored_name).where(column.recording_id == recording_id)
        with self.study.reading() as connection:
            return self.study.folder.recording_file(connection.execute(query).scalar_one())

    def bring_run(self, run: NewRun, progress: Progress = quiet) -> int:
        """Copy a recording into the study as the next run of its set and condition.

        The original is not touched; the run is kept whole or not at all.

        Returns
        -------
        Id of the recording.

        Raises
        ------
        RecordingError
            When the recording or its speed cannot be used, or the recording is there already.
        StudyError
            When it cannot be kept.
        Cancelled
            When `progress` asked for it; nothing is left behind.
        """
        return bring_run(self.study, run, progress, self._clock)

    def set_channels(self, recording_id: int, settings: tuple[ChannelSetting, ...]) -> None:
        """Keep what the channels of a run are, one setting for each."""
        with self.study.writing() as connection:
            told_before = run_rows.channel_settings(connection)[recording_id]
            refuse_unlike(len(told_before), len(settings), "The recording")
            run_rows.write_channels(connection, recording_id, settings, self._clock())

    def channel_settings(self, recording_id: int) -> tuple[ChannelSetting, ...]:
        """Return what the channels of a run are, in the order of the file."""
        with self.study.reading() as connection:
            return run_rows.channel_settings(connection)[recording_id]

    def treads(self) -> dict[int, Tread]:
        """Return size and pitches of the tyres of every set, by the set's id."""
        with self.study.reading() as connection:
            return run_rows.treads(connection)

    def set_tread(self, set_id: int, tread: Tread) -> None:
        """Keep size and pitches of a set's tyres."""
        with self.study.writing() as connection:
            run_rows.write_tread(connection, set_id, tread, self._clock())

    def tread_of_run(self, recording_id: int) -> Tread:
        """Return size and pitches of the tyres that a run was driven on."""
        column = tables.recording.c
        query = sa.select(column.set_id).where(column.recording_id == recording_id)
        with self.study.reading() as connection:
            return run_rows.treads(connection)[connection.execute(query).scalar_one()]

    def set_note(self, recording_id: int, note: RunNote) -> None:
        """Keep the conditions that a run was driven in."""
        with self.study.writing() as connection:
            run_rows.write_note(connection, recording_id, note, self._clock())

    def note(self, recording_id: int) -> RunNote:
        """Return the conditions that a run was driven in; an empty note when none were given."""
        with self.study.reading() as connection:
            return run_rows.run_note(connection, recording_id)

    def set_speed(self, recording_id: int, source: SpeedSource | None) -> None:
        """Keep where a run's speed comes from; None takes back what was said before.

        Raises
        ------
        RecordingError
            When the file holds no speed, or the recording has no such channel.
        StudyError
            When it cannot be kept.
        """
        bring_speed(self.study, recording_id, source, self._clock)

    def speed_source(self, recording_id: int) -> SpeedSource | None:
        """Return where a run's speed comes from, a file by its place in the study."""
        with self.study.reading() as connection:
            return run_rows.speed_source(connection, recording_id, self.study.folder.recording_file)

    def band_table(self) -> BandTable:
        """Return the bands to measure with."""
        with self.study.reading() as connection:
            return measurement_rows.band_table(connection)

    def change_bands(self, bands: tuple[Band, ...]) -> BandTable:
        """Keep other bands under the next version; the same ones keep their version.

        Raises
        ------
        MeasurementError
            For impossible bands.
        """
        with self.study.writing() as connection:
            before = measurement_rows.band_table(connection)
            table = before.changed(bands)
            if table is not before:
                measurement_rows.write_bands(connection, table, self._clock())
        return table

    def keep_measurement(
        self,
        recording_id: int,
        figures: Iterable[Figure],
        remarks: Iterable[Remark],
        settings: Mapping[str, object],
        arrays: Mapping[str, Array],
        band_version: int,
    ) -> None:
        """Keep what was measured of a run; earlier measurings stay, and no longer count.

        Parameters
        ----------
        figures
            No two of them with the same channel and key. A value of NaN is kept as undefined.
        settings
            Plain values, such as field, tyre and temperature.
        arrays
            Spectra, maps and the like by name, kept with their own shape and type.

        Raises
        ------
        StudyError
            When it cannot be kept; nothing is left behind.
        """
        folder = self.study.folder.measurements
        columns = {
            "band_version": band_version,
            "settings": measurement_rows.settings_text(settings),
        }
        name = write_arrays(folder, arrays) if arrays else None
        columns["arrays_name"] = name
        try:
            with self.study.writing() as connection:
                measurement_rows.write_measuring(
                    connection, recording_id, figures, remarks, columns, self._clock()
                )
        except BaseException:
            if name is not None:
                (folder / name).unlink(missing_ok=True)
            raise

    def measuring(self, recording_id: int) -> Measuring | None:
        """Return when and how a run was last measured; None when it has not been."""
        with self.study.reading() as connection:
            return measurement_rows.last_measuring_of(connection, recording_id)

    def arrays(self, recording_id: int) -> dict[str, Array] | None:
        """Return the arrays of a run's last measuring; None when there are none.

        Raises
        ------
        StudyError
            When their file is damaged.
        """
        last = self.measuring(recording_id)
        if last is None or last.arrays_name is None:
            return None
        return read_arrays(self.study.folder.arrays_file(last.arrays_name))

    def remarks(self, recording_id: int) -> tuple[Remark, ...]:
        """Return the remarks of a run's last measuring."""
        with self.study.reading() as connection:
            last = measurement_rows.last_measuring_of(connection, recording_id)
            if last is None:
                return ()
            return measurement_rows.remarks_of(connection, last.measuring_id)

    def measurement_table(self) -> pd.DataFrame:
        """Return the figures of every run's last measuring, sets under blind codes.

        Returns
        -------
        DataFrame
            Columns ``set, condition, run, channel, figure, unit, value``; undefined values are
            NaN. ``attrs["sound_field"]`` is that of loudness and sharpness.
        """
        from ratings.storage.measurement_rows import run_figures
        from ratings.study.figures import RUN_FIELD

        with self.study.reading() as connection:
            table = run_figures(connection)
        table.attrs["sound_field"] = RUN_FIELD
        return table

    def last_change(self) -> tuple[int, ...]:
        """Return numbers that change whenever runs, what is said of them, or measurings come."""
        query = sa.select(
            *(
                sa.select(sa.func.coalesce(sa.func.max(column), 0)).scalar_subquery()
                for column in (
                    tables.recording.c.recording_id,
                    tables.channel_setting.c.channel_setting_id,
                    tables.run_note.c.run_note_id,
                    tables.speed_source.c.speed_source_id,
                    tables.tread.c.tread_id,
                    tables.band_table.c.version,
                    tables.measuring.c.measuring_id,
                )
            )
        )
        with self.study.reading() as connection:
            return tuple(connection.execute(query).one())
