"""The invented road noise of the demonstration study and the drills."""
