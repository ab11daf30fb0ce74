"""The command line: one command a question, no behavior of its own."""
