"""What is said of a seat that is open in two windows."""

from ratings.storage.seat_leases import SeatHolder


def holder_words(holder: SeatHolder) -> str:
    """Say where a seat is open already."""
    where = "open in another window here"
    if not holder.is_this_machine:
        where = f"open on {holder.machine or 'another computer'}"
    if holder.since is None:
        return where
    since = holder.since.astimezone().strftime("%H:%M")
    return f"{where} since {since}"


def both_count() -> str:
    """Say what a seat open twice means, and what to do."""
    return "Scores given in both are saved, and the later one counts. Close one of them."
