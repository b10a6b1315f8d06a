"""`rackwalk refrigerant`."""
