"""Batches in progress: what stands where since when, what is due, which lot went where."""
