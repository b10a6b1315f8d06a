"""Saturation tables, one JSON file for each refrigerant; written by `build_tables`."""
