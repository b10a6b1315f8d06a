"""Liquid line, receiver and charge."""
