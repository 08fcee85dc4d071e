"""One meaning of a range and one sampler for every model."""
