"""What to do when a brine is off or an ingredient changes."""
