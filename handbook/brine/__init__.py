"""Brines and cures: make-up, properties of solutions, strength, instruments, nitrite."""
