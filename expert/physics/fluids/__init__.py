"""Properties of refrigerants: tables, curves, equations of state."""
