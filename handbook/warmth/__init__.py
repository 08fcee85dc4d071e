"""Temperatures of mixtures and boxes."""
