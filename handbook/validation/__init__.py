"""The models compared with published findings."""
