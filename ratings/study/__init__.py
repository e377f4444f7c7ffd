"""The words of the job as frozen dataclasses: set, condition, attribute, scale, pair, score."""
