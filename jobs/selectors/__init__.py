"""Questions about the records; nothing here changes them."""
