"""Recordings measured: a file and its settings in, figures by name out."""
