"""Work off the window's thread, with progress and cancel."""
