"""`rackwalk calc`."""
