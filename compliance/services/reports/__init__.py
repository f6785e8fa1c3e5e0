"""Printing reports: one module a format, all fed by the same plain rows."""
