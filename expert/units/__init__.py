"""Kinds of quantity, their units, and the way from typed text to SI and back."""
