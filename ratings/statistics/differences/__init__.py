"""Whether a set is different from the control, by how much, and how surely."""
