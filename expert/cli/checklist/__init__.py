"""A checklist from its list to its report."""
