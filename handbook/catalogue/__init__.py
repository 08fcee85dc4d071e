"""Foods and ingredients: composition, names, thermal properties."""
