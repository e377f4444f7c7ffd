"""Two clips at one shared position, at their recorded level, from a small process of its own."""
