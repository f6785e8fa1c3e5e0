"""What reports say: one module a report, each from records to plain values."""
