"""Batches in progress: their states, due steps, and the traces of lots."""
