"""The theory room."""
