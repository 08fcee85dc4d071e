"""A build from a folder to a published site: jobs, executors, cache, assembly, preview."""
