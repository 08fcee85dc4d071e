"""The calculation engine of the handbook: brine, uptake, heat, safety and timing. It knows no HTML."""

__version__ = "0.1.0"
