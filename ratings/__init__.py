"""Scores, measurements and verdicts of tyre listening studies, without a window or a sound card."""
