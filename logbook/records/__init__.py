"""The records room."""
