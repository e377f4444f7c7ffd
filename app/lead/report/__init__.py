"""The station of the report: what page one says, the lead's own words, and the files."""
