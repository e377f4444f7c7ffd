"""What was measured, drawn: spectrum, bands, map, over speed, figures."""
