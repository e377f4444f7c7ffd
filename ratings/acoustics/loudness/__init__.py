"""Loudness by ISO 532-1 and sharpness by DIN 45692."""
