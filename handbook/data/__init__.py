"""Tables of the engine: foods, ingredients, limits, coefficients and their sources."""
