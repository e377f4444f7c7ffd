"""Repeated runs: their spread, and the difference of two sets of them."""
