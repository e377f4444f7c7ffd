"""The lead reads whether the panel agrees, and hands the scores over."""
