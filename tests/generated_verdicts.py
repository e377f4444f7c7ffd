"""Verdicts on generated studies, each worked out once."""

import functools

from generated_studies import question

from ratings.findings.verdict.judging import judge


@functools.cache
def verdict_on(kind, seed=1):
    """Return the verdict on a study of a kind."""
    return judge(question(kind, seed))
