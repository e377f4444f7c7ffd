"""What evaluator and trainee share: the form of a pair, its sound, and how much was heard."""
