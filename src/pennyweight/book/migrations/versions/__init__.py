"""One file a format, numbered in their order."""
