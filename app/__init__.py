"""The Twinset desktop program."""
