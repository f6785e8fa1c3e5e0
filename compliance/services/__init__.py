"""What is done with the answers of the rulebook: kept, announced, printed."""
