"""The timing room."""
