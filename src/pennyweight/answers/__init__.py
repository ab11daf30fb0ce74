"""One question a file: read the book, call the rooms below, say how sure."""
