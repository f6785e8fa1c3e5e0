"""What the law makes of one appliance's records: pure functions of facts, no Django, no clock, no database."""
