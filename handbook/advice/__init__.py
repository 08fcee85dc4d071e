"""Corrections of a brine and substitutions of ingredients."""
