"""Who hears what, in which order: pairs, balanced sides, hidden checks, blind codes."""
