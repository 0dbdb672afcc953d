"""The notebook room."""
