"""The safety rules, one topic to a file. `handbook.safety` runs them."""
