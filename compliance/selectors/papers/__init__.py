"""Requests, plans and reports of a case on paper: filled from the records, to be signed and sent."""
