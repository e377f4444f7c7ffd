"""What is said of a seat that is open in two windows."""

from PySide6.QtCore import QCoreApplication

from ratings.storage.seat_leases import SeatHolder


def holder_words(holder: SeatHolder) -> str:
    """Say where a seat is open already."""
    where = QCoreApplication.translate("OpenTwice", "open in another window here")
    if not holder.is_this_machine:
        where = QCoreApplication.translate("OpenTwice", "open on {0}").format(
            holder.machine or QCoreApplication.translate("OpenTwice", "another computer")
        )
    if holder.since is None:
        return where
    since = holder.since.astimezone().strftime("%H:%M")
    return QCoreApplication.translate("OpenTwice", "{0} since {1}").format(where, since)


def both_count() -> str:
    """Say what a seat open twice means, and what to do."""
    return QCoreApplication.translate(
        "OpenTwice", "Scores given in both are saved, and the later one counts. Close one of them."
    )
