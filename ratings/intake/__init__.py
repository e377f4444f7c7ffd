"""A study from what the lead has: a plan and files in, recordings, clips and sessions out."""
