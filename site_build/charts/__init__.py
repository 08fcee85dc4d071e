"""Where everything on a chart stands."""
