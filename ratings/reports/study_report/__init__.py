"""The report on a study, from its verdict: what a lead hands over."""
