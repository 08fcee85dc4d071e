"""The records of a method page and of the house file, and how they are read."""
