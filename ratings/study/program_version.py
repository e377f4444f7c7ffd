"""Which release of this program it is, for what it writes."""

from importlib.metadata import PackageNotFoundError, version


def program_version() -> str:
    """Return the version of the installed program."""
    try:
        return version("twinset")
    except PackageNotFoundError:
        return "not installed"
