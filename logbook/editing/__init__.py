"""The editing room."""
