"""A change of methods compared, reported, signed; its history."""
