"""The strings room."""
