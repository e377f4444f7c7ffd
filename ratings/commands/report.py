"""The command ``report``: the report on a study as PDF, HTML and tables."""

import argparse

from ratings.commands.common_options import named_path
from ratings.commands.verdict import add_study
from ratings.reports.study_report.report import write_report
from ratings.storage.study_folder import open_study

HELP = "write the report on a study as PDF and HTML, and its tables as CSV and Parquet"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_study(parser)
    parser.add_argument(
        "-o",
        "--output",
        type=named_path,
        required=True,
        metavar="FOLDER",
        help="folder to write into; it is made where it is missing",
    )


def run(arguments: argparse.Namespace) -> str:
    """Write the report, and return the names of its files, one a line.

    Raises
    ------
    StudyError
        When the study cannot be read, or the folder cannot be written to.
    """
    study = open_study(arguments.study, only_read=True)
    try:
        study.refuse_changed_rows()
        written = write_report(study, arguments.output)
    finally:
        study.close()
    return "".join(f"{path}\n" for path in written)
