"""How many evaluators, how many sets, how small a difference."""
