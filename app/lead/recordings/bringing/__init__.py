"""Runs brought into a study, and what is said of them."""
