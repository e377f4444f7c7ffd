"""Which set is quieter, where, by how much, how sure, and whether the measurement says the same."""
