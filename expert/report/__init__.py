"""Job reports."""
