"""Nitrogen and vacuum tests."""
