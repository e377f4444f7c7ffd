"""Scores with evaluators as a random part: the fit, its tests, and mean squares where complete."""
