"""Whether the day drifted, the meter says the same, and how far a trainee is from the panel."""
