"""What is wrong with a run: found while it streams by, and told in words."""
