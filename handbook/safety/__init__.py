"""Limits of documents, the state of the food, rules and findings."""
