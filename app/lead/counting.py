"""Numbers of things in words."""


def counted(count: int, noun: str) -> str:
    """Say how many there are, such as ``1 set`` and ``2 sets``."""
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"
