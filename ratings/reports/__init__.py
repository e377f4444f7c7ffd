"""Pages and tables for people who do not have the program."""
