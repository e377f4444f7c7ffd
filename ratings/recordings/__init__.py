"""Sound files of any kind in, pressure and speed out; reads what others recorded."""
