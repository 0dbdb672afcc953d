"""One module a step, numbered in order."""
