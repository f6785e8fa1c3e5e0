"""Pages that show what the law makes of the records."""
