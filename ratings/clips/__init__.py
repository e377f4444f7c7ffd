"""Clips alike: windows, loop, cut and level, one pipeline for study, command and notebook."""
