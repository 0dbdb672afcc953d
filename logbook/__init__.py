"""A recording-session logbook and take manager for working musicians."""

__version__ = "0.1.0"
