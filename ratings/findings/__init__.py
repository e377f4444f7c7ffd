"""What the scores of one study say, with the sentence that says it."""
