"""Foods and ingredients: what they are made of, what they are called, how they conduct heat."""
