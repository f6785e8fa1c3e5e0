"""What a person files about a case beside visits: which evidence each paragraph asks for, and when it may be filed."""
