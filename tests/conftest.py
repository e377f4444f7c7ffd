"""Settings that every test shares."""

import os

# Windows are drawn off the screen, so that a test run needs no display and shows nothing.
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
