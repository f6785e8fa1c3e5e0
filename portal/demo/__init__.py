"""The demo firm: an invented contractor with three years of records, made relative to today."""
