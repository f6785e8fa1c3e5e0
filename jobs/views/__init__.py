"""Pages of the registers: lists, details and forms over the services."""
