"""What the pages, reports and tasks read."""
