"""Prominent tones in a spectrum, after ECMA-418-1."""
