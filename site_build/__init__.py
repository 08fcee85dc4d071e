"""The site generator: MkDocs plugin, theme and command line around the engine."""
