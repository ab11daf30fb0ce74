"""The book: one file that keeps a ground's whole record and its history."""
