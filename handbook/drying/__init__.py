"""Drying and ripening: weight and water activity over time, the dry rim, degree-hours."""
