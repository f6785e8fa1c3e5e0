"""One module or package for each jurisdiction; each turns a timeline into what its rules make of it."""
