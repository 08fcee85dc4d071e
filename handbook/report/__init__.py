"""One method in its house, evaluated to every figure of its page."""
