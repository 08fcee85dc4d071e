"""Runs as a kitchen recorded them, and what they teach."""
