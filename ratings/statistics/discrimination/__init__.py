"""Whether a difference can be heard at all, and how small a one."""
