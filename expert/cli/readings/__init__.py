"""Readings without a checklist."""
