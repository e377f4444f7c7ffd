"""Differences that may be looked at while evaluators still come in."""
