"""The audio room."""
