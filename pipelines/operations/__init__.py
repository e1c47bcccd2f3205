"""Keeping it running: workers, what can be seen from outside, backup, and how long things are kept."""
