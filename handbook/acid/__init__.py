"""Acid: vinegar and lactic acid in food, its pH, and how it moves into a piece."""
