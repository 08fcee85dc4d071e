"""The models beside published findings."""
