"""The listening session and its rating form."""
