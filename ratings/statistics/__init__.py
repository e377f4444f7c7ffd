"""Plain arrays in, named results out."""
