"""The sheets room."""
