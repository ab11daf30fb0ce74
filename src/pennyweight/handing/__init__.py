"""Answers handed out in open formats, with true or blurred places."""
