"""How far runs scatter, and what they can tell about the difference of two sets."""
