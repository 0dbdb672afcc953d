"""The checking room."""
