"""The recordings page: runs brought in, measured, looked at, and compared by set."""
