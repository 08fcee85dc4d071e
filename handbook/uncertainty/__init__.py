"""The meaning of a range and the sampler that all models use."""
