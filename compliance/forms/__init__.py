"""Forms of the pages that show records and law together."""
