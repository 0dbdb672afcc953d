"""The listening room."""
