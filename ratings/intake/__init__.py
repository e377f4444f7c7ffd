"""Files become facts, drafts, runs and studies; for window, command and library."""
