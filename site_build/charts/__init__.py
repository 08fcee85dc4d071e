"""Layouts of charts."""
