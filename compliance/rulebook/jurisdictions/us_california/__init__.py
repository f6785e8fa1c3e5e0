"""California's Refrigerant Management Program, 17 CCR 95380 to 95398."""
