"""Shared by all rooms of the generator: places, files, git, progress, fingerprints, trees of HTML."""
