"""Comparison, reports, sign-off and history of methods."""
