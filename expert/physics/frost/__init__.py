"""Frost and its melting."""
