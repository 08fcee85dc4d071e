"""Runs recorded by a kitchen, and the calibration from them."""
