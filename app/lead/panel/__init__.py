"""Who has listened, how far each has got, and how much sound each has had."""
