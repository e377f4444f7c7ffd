"""Scores, measurements and verdicts of tyre listening studies, without a window or a sound card.

`open_study` opens a study for a notebook, `ratings.clips.alike.cut_alike` cuts clips alike from
recordings of several sets. These functions serve notebooks too; no command and no page calls them
yet:

- one call for a whole signal: `ratings.acoustics.rolling.coast_down.coast_down_map`,
  `ratings.acoustics.rolling.order_spectrum.order_spectrum`,
  `ratings.acoustics.loudness.stationary.stationary_loudness`,
  `ratings.acoustics.faults.fault_meter.faults_of`; many files side by side:
  `ratings.measuring.many.measure_many`
- one clip and its seam: `ratings.clips.cutting.cut_clip`, `ratings.clips.loop_points.seam_level_db`
- can they hear it: `ratings.statistics.discrimination.sensitivity.discrimination`,
  `ratings.statistics.discrimination.sensitivity.paired_with_no_difference`,
  `ratings.statistics.discrimination.sensitivity.similarity_p`,
  `ratings.statistics.discrimination.sensitivity.smallest_significant_correct`,
  `ratings.statistics.discrimination.psychometric_curve.psychometric_curve`,
  `ratings.statistics.discrimination.adaptive_targets.up_down_target`
- how far is a trainee from the panel:
  `ratings.statistics.agreement.limits_of_agreement.limits_of_agreement`
- the verdict on a study: `ratings.findings.verdict.judging.study_verdict`
- too many sets for one evaluator: `ratings.design.balanced_blocks.balanced_blocks`
- both tables of a study in CSV and Parquet: `ratings.reports.tables_out.write_tables`
- a report of your own: `ratings.reports.writing.write_document` with
  `ratings.reports.plots.forest.forest_plots`, `ratings.reports.plots.radar.radar_plots`,
  `ratings.reports.plots.band_bars.band_plots`, `ratings.reports.plots.curves.spectrum_plots`,
  `ratings.reports.plots.curves.speed_plots`, `ratings.reports.plots.scatter.scatter_plot`,
  `ratings.reports.plots.drift.drift_plot`
- what do the files of a study to be made say: `ratings.intake.draft_review.read_files`
- open the key of a study, and what could have told it: `ratings.storage.key.open_key`,
  `ratings.storage.key.blindness_log`; why nothing measured stands beside an attribute:
  `ratings.study.study_settings.no_figure_words`
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ratings.storage.lead_desk import LeadDesk


def open_study(path: Path | str) -> LeadDesk:
    """Open a study folder for a notebook; ``~`` stands for the home folder.

    Examples
    --------
    >>> study = ratings.open_study("~/Alder wagon")  # doctest: +SKIP
    >>> scores, levels = study.score_table(), study.measurement_table()  # doctest: +SKIP
    >>> study.settings().limits.matters  # doctest: +SKIP

    Raises
    ------
    StudyError
        In words, when the folder holds no study that can be opened.
    """
    from ratings.storage.lead_desk import LeadDesk
    from ratings.storage.study_folder import open_study as open_folder

    return LeadDesk(open_folder(Path(path).expanduser()))
