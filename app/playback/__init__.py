"""Two clips at one shared position, level-true, from a small process of its own."""
