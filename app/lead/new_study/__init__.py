"""The lead makes a study: files into a grid of sets and conditions."""
