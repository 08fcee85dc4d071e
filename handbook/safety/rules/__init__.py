"""The safety rules, one topic to a file. handbook.safety.findings runs them."""
