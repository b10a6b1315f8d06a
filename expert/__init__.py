"""Guided checklists and rule-based diagnosis for supermarket refrigeration racks."""

__version__ = "0.1.0"
