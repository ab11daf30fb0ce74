"""Where the next dig is worth its sweat."""
