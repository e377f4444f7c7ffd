"""Sound files in, samples out, clips cut; the only room that reads and writes sound files."""
