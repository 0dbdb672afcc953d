"""The cli room."""
