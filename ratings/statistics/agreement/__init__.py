"""Whether the evaluators agree, and whether each of them is fit to judge."""
