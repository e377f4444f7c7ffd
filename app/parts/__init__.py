"""Widgets shared by the screens, and the one theme they read."""
