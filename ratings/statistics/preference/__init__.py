"""Which set is preferred, from choices between two."""
