"""The station of the verdict: every set beside the control, in words that a test manager reads."""
