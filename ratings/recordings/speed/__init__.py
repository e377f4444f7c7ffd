"""The speed of a run: from files and channels, and windows by it."""
