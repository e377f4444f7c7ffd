"""Kinds of recording files, each behind one protocol of samples."""
