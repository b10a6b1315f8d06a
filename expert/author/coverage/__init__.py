"""What no test has tried."""
