"""The store room."""
