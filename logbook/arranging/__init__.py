"""The arranging room."""
