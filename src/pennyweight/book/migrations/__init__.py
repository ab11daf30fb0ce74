"""How a book of an older format becomes one of the present format."""
