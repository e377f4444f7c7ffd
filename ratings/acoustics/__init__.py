"""Arrays of sound pressure in, figures out."""
