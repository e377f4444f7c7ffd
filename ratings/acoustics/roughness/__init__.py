"""Roughness of a sound, after Daniel and Weber."""
