"""Readings found that bring a condition about."""
