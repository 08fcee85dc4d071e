"""Several methods on one day: plans, checks, labels, shopping."""
