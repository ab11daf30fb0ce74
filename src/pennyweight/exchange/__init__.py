"""Files to records and back; knows formats and no database."""
