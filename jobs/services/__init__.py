"""What people do with records: one function an act, each in one transaction."""
