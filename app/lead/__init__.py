"""The lead's desk: make a study, watch agreement, hand the table over."""
