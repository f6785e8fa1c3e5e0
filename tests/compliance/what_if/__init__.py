"""The what-if page: a history that somebody lays out, and what the law would make of it."""
